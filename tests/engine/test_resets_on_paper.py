"""What starts a clock: assemblies, parts carried over, removals."""

from tests.engine.on_paper import answer, event

BOOT = {"kind": "half-shaft-boot", "months": 60}
SHAFT_AND_BOOT = [
    {"kind": "half-shaft", "position": "", "assembly": None},
    {
        "kind": "half-shaft-boot",
        "position": "",
        "assembly": {"kind": "half-shaft", "position": ""},
    },
]


def boot(*events, on="2026-11-25"):
    return answer(on=on, rule=BOOT, components=SHAFT_AND_BOOT, service_events=list(events))


def test_a_half_shaft_bought_for_one_gaiter_brings_a_new_gaiter():
    item = boot(event("2015-03-01", kind="half-shaft-boot"), event("2024-05-18", kind="half-shaft"))
    assert item["due_on"] == "2029-05-18"


def test_a_gaiter_carried_over_keeps_its_age():
    carried = [{"kind": "half-shaft-boot", "position": ""}]
    item = boot(
        event("2015-03-01", kind="half-shaft-boot"),
        event("2024-05-18", kind="half-shaft", carried_over=carried),
    )
    assert item["due_on"] == "2020-03-01"


def test_an_overhaul_of_the_assembly_renews_no_part_of_it():
    item = boot(
        event("2015-03-01", kind="half-shaft-boot"),
        event("2024-05-18", "overhaul", kind="half-shaft"),
    )
    assert item["due_on"] == "2020-03-01"


def test_a_part_taken_off_the_car_is_asked_nothing():
    assert boot(event("2015-03-01", kind="half-shaft-boot"),
                event("2024-05-18", "remove", kind="half-shaft")) is None  # fmt: skip


def test_what_was_done_after_the_day_asked_about_is_not_known_on_it():
    events = [event("2015-03-01", kind="half-shaft-boot"), event("2024-05-18", kind="half-shaft")]
    assert boot(*events, on="2020-01-01")["due_on"] == "2020-03-01"
