"""The reader of the examples must itself tell a true page from a false one."""

import pytest

from tests.docs.console_blocks import blocks, matches

PAGE = """\
Text.

```console run
$ echo Halvorn
Halvorn
$ printf '%s\\n' \\
    Twelve
Twelve
```

```console
$ never run
```

```console run exit=3
$ true
$ sh -c 'exit 3'
```
"""


@pytest.fixture
def page(tmp_path):
    path = tmp_path / "PAGE.md"
    path.write_text(PAGE, encoding="utf-8")
    return path


def test_only_a_block_that_says_so_is_run(page):
    assert [block.is_run for block in blocks(page)] == [True, False, True]


def test_an_example_is_a_command_with_what_it_prints_and_where_it_stands(page):
    first, second = blocks(page)[0].examples()
    assert (first.line, first.command, first.printed) == (4, "echo Halvorn", "Halvorn")
    assert (second.command, second.printed) == ("printf '%s\\n' \\\n    Twelve", "Twelve")


def test_the_status_of_a_block_is_that_of_its_last_command(page):
    assert [example.status for example in blocks(page)[2].examples()] == [0, 3]


@pytest.mark.parametrize(
    ("shown", "printed"),
    [
        ("a\nb", "a\nb\n"),
        ("a\n…\nd", "a\nb\nc\nd"),
        ("a\n…\nd", "a\nd"),
        ("a\n…", "a\nb\nc"),
        ("a\n…", "a"),
        ("…\nc", "a\nb\nc"),
        ("…", "anything\nat all"),
        ("id … of a car", "id 0192-ab of a car"),
        ("a\n…\nm\n…\nz", "a\nb\nm\nn\nz"),
    ],
)
def test_what_is_shown_matches_what_is_printed(shown, printed):
    assert matches(shown, printed)


@pytest.mark.parametrize(
    ("shown", "printed"),
    [
        ("a\nb", "a\nc"),
        ("a", "a\nb"),
        ("a\n…\nd", "a\nb\nc"),
        ("…\nc", "a\nbc"),
        ("a\n…\nd", "a\nbd"),
        ("due 2027-03-20", "due 2027-03-21"),
        ("one … three", "one\nthree"),
        ("", "a"),
    ],
)
def test_what_is_shown_does_not_match_other_output(shown, printed):
    assert not matches(shown, printed)
