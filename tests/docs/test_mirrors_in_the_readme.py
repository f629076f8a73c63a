from pathlib import Path

from maintenance.models.changed_nouns import NOUNS


def test_the_readme_names_every_noun_that_the_feed_covers():
    said = " ".join(Path("README.md").read_text(encoding="utf-8").split())
    covered = " ".join(noun.name for noun in NOUNS)
    assert f"of all you may see of `{covered}`" in said
