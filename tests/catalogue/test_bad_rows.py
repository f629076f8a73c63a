"""A bad row in a data file names itself, and every bad row is told at once."""

import shutil
from importlib.resources import as_file, files

import pytest

from maintenance.catalogue.errors import CatalogueError
from maintenance.catalogue.load import catalogue, load_catalogue


@pytest.fixture
def folder(tmp_path):
    with as_file(files("maintenance.catalogue")) as original:
        shutil.copytree(original, tmp_path / "data", ignore=shutil.ignore_patterns("*.py*"))
    return tmp_path / "data"


def spoil(folder, file, old, new):
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")


def complaints(folder):
    with pytest.raises(CatalogueError) as refused:
        load_catalogue(folder)
    return refused.value.complaints


def test_an_untouched_copy_gives_the_same_catalogue(folder):
    assert load_catalogue(folder) == catalogue()


HYDRAULICS = "component_kinds/hydraulics.toml"
BRAKES = "component_kinds/brakes.toml"
GB = "inspection_regimes/gb.toml"
SECOND_RENEWAL = """
[[kind.rule]]
name = "brake fluid renewal again"
task = "renew"
months = 36
lay_up = "moisture"
criticality = "safety"
source = "common practice"

[[kind.rule]]
name = "brake fluid inspection"
"""


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        (
            HYDRAULICS,
            "months = 24",
            "months = 0",
            ("hydraulics.toml", "brake fluid renewal", "1200"),
        ),
        (HYDRAULICS, '"moisture"]', '"moistur"]', ("hydraulics.toml", "brake-fluid", "'moisture'")),
        (HYDRAULICS, 'lay_up = "moisture"', 'lay_up = "moistur"', ("fluid renewal", "lay_up")),
        (HYDRAULICS, '"brake-fluid", "br', '"brake-fluids", "br', ("brake-fluid", "cautions/0")),
        (HYDRAULICS, 'slug = "clutch-fluid"', 'slug = "brake-fluid"', ("brake-fluid", "twice")),
        (HYDRAULICS, 'unit = "%"', 'unit = "g"', ("brake fluid renewal", "wear/unit", "'%'")),
        (HYDRAULICS, "system =", "sistem =", ("hydraulics.toml", "sistem", "'system'")),
        (HYDRAULICS, "read_on = 2026-11-25", "", ("hydraulics.toml", "read_on", "missing")),
        (HYDRAULICS, "and clutch hydraulics", "", ("name", "in another file")),
        (
            BRAKES,
            'name = "brake disc i',
            'name = "brake pad i',
            ("brake pad inspection", "two rules"),
        ),
        (BRAKES, 'source = "common practice"', 'source = ""', ("brake-pads", "source", "empty")),
        (BRAKES, "set_of = true", 'set_of = "yes"', ("brake-pads", "set_of", "true or false")),
        ("quantities.toml", "maximum = 25", "maximum = -1", ("lining_thickness", "maximum")),
        ("quantities.toml", "[[row]]", "[[rows]]", ("quantities.toml", "rows", "'row'")),
        ("mechanisms.toml", "damp = 1.50", "damp = 0.50", ("moisture", "factors/damp", "below 1")),
        ("cautions.toml", 'slug = "fuel"', 'slug = "asbestos"', ("asbestos", "twice")),
        ("storage_grades.toml", 'slug = "damp"', 'slug = "moist"', ("storage_grades", "damp")),
        (GB, "every_months = 12", "every_months = 0", ("gb", "bands/0/every_months", "above 0")),
        (GB, "from_age_months = 36", "from_age_months = 48", ("gb", "bands/0", "36")),
        (GB, '"day_before"', '"day before the"', ("gb", "certificate_end", "'day_before'")),
        (GB, 'of = ["certificate_end"]', "of = []", ("gb", "certificate_end", "no source")),
        (GB, 'basis = "memory"', 'basis = "heard"', ("gb", "sources/4/basis", "'read'")),
        (GB, 'code = "gb"', 'code = "uk"', ("gb.toml", "code", "name of the file")),
        (GB, "keeps_date_months_early = 1", "keeps_date_months_early = 12", ("gb", "keeps_date")),
        (GB, "[[bands]]\nfrom_age_months = 36\nevery_months = 12", "", ("gb", "bands", "missing")),
        (GB, 'of = ["certificate_end"]', 'of = ["certificat_end"]', ("gb", "sources/3/of", "'c")),
        (GB, 'text = "No suspension', 'text = " "\n# "', ("gb", "sources/4/text", "name law")),
        (GB, "note =", "notes =", ("gb", "notes", "'note'")),
        ("cautions.toml", 'source = "common practice"', 'source = " "', ("stored-energy", "empty")),
        (GB, "exempt_after_months = 480", "exempt_after_months = 0", ("gb", "above 0")),
    ],
)
def test_a_bad_row_names_its_file_itself_its_field_and_the_remedy(folder, file, old, new, told):
    spoil(folder, file, old, new)

    assert any(all(word in complaint for word in told) for complaint in complaints(folder))


def test_two_rules_for_one_task_on_one_kind_are_refused(folder):
    spoil(folder, HYDRAULICS, '\n[[kind.rule]]\nname = "brake fluid inspection"\n', SECOND_RENEWAL)

    assert complaints(folder) == (
        "component_kinds: brake-fluid: task: two rules to renew it apply always; keep one",
    )


def test_a_kind_without_a_rule_is_refused(folder):
    (folder / BRAKES).write_text(
        'system = "brakes"\nname = "brakes and clutch hydraulics"\nread_on = 2026-11-25\n'
        '[[kind]]\nslug = "brake-pads"\nname = "brake pads"\nmechanisms = ["wear"]\n'
        'source = "common practice"\n',
        encoding="utf-8",
    )

    assert complaints(folder) == (
        "component_kinds/brakes.toml: brake-pads: rule: has none; give the kind at least one",
    )


def test_the_bad_rows_of_several_files_are_told_together(folder):
    spoil(folder, BRAKES, "months = 12", "months = 0")
    spoil(folder, GB, "every_months = 12", "every_months = 0")

    assert {text.split(":")[0] for text in complaints(folder)} == {
        "component_kinds/brakes.toml",
        "inspection_regimes/gb.toml",
    }


@pytest.mark.parametrize("content", [b"slug =", b"\xff\xfe"])
def test_a_file_that_cannot_be_read_is_named(folder, content):
    (folder / "cautions.toml").write_bytes(content)

    assert "cautions.toml: cannot be read" in complaints(folder)[0]


def test_a_regime_without_any_band_is_refused(folder):
    spoil(folder, GB, "[[bands]]\nfrom_age_months = 36\nevery_months = 12", "")
    spoil(folder, GB, "suspended_off_road = false", "suspended_off_road = false\nbands = []")

    assert complaints(folder) == (
        "inspection_regimes/gb.toml: gb: bands: is empty; give at least one band",
    )


def test_a_catalogue_without_inspection_regimes_is_refused(folder):
    shutil.rmtree(folder / "inspection_regimes")
    (folder / "inspection_regimes").mkdir()

    assert complaints(folder) == (
        "inspection_regimes: holds no file; give one a system or country",
    )


def test_an_older_band_is_put_after_a_younger_one(folder):
    file = "inspection_regimes/nl.toml"
    spoil(folder, file, "from_age_months = 360", "from_age_months = 60")

    assert "youngest first" in complaints(folder)[0]
