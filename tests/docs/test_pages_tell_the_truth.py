"""The commands of the pages print what the pages show, in a service as `deploy/demo` sets it up."""

import re

import pytest

from tests.docs.console_blocks import Block, blocks, matches
from tests.live_service import ROOT, LiveService

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
ADDRESS = "127.0.0.1:8000"


def _json_of(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    running = LiveService(tmp_path_factory.mktemp("pages"), ADDRESS)
    yield running
    running.stop()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_example_of_a_page_prints_what_the_page_shows(service, page):
    for example in (one for block in blocks(page) if block.is_run for one in block.examples()):
        ran = service.run(example.command)
        printed = ran.stdout.replace(f"127.0.0.1:{service.port}", ADDRESS)
        assert ran.returncode == example.status, f"{example}\n{printed}"
        assert matches(example.printed, printed), f"{example}\n{printed}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_shows_no_command_of_the_service_that_is_not_run(page):
    shown = [block for block in blocks(page) if block.info[:1] == ("console",)]
    assert [b for b in shown if re.search(r"manage\.py|curl ", b.text) and not b.is_run] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_json_that_a_page_quotes_from_a_file_stands_in_that_file(page):
    def quoted_but_absent(block: Block) -> bool:
        file = ROOT / block.info[block.info.index("from") + 1]
        return _json_of(block.text) not in _json_of(file.read_text(encoding="utf-8"))

    assert [b for b in blocks(page) if "from" in b.info and quoted_but_absent(b)] == []


def test_every_command_is_in_the_readme():
    commands = {path.stem for path in (ROOT / "maintenance/management/commands").glob("[a-z]*.py")}
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert {name for name in commands if not re.search(rf"`{name}\b", readme)} == set()
