from pathlib import Path

from maintenance.queries.roles import as_markdown


def test_the_readme_shows_the_table_of_roles_that_the_service_goes_by():
    assert as_markdown() in Path("README.md").read_text(encoding="utf-8")
