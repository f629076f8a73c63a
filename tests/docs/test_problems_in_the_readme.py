from pathlib import Path

from api.problem_types import as_markdown


def test_the_readme_lists_every_kind_of_problem_that_a_client_can_meet():
    assert as_markdown() in Path("README.md").read_text(encoding="utf-8")
