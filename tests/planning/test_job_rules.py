import tomllib
from importlib.resources import files

import pytest

from maintenance.catalogue.errors import CatalogueError
from maintenance.catalogue.job_rules import job_rules, read_job_rules
from maintenance.planning.expand import jobs_for
from maintenance.planning.jobs import Part
from maintenance.planning.order import in_order, prerequisites
from maintenance.planning.wanted import Fitted, Wanted

CAR = [
    Fitted("brake-fluid", "brake-fluid"),
    *(
        Fitted(f"{kind} {position}", kind, position)
        for axle in ("front", "rear")
        for kind, position in [
            ("brake-pads", axle),
            ("brake-discs", axle),
            *[
                (k, f"{axle} {s}")
                for k in ("brake-hose", "suspension-arm")
                for s in ("left", "right")
            ],
        ]
    ),
]


def planned(*wanted: Wanted):
    made = jobs_for(wanted, job_rules(), CAR)
    steps = prerequisites(made.jobs, job_rules(), made.steps)
    return [job.id for job in in_order(made.jobs, steps)], made, steps


def hose(position: str = "front left", **more) -> Wanted:
    return Wanted("brake-hose", position, "renew", f"brake-hose {position}", "safety", **more)


def test_a_new_hose_brings_its_mate_fluid_and_bleeding_from_the_far_end():
    order, _, _ = planned(hose())

    assert "renew brake-hose front right" in order
    assert [job for job in order if "bleed" in job or "fluid" in job] == [
        "renew brake-fluid",
        "bleed brake-circuit rear left",
        "bleed brake-circuit rear right",
        "bleed brake-circuit front left",
        "bleed brake-circuit front right",
    ]


def test_the_hose_of_the_other_axle_is_left_alone():
    order, _, _ = planned(hose())

    assert not any("hose rear" in job for job in order)


def test_new_discs_bring_pads_bedding_in_and_a_road_test_in_that_order():
    order, _, _ = planned(Wanted("brake-discs", "front", "renew", criticality="safety"))

    places = [
        order.index(job)
        for job in (
            "raise axle front",
            "renew brake-discs front",
            "renew brake-pads front",
            "lower axle front",
            "first_drive whole-car",
            "bed_in friction-material",
            "road_test whole-car",
        )
    ]
    assert places == sorted(places)


def test_the_car_is_aligned_after_its_arms_and_on_its_wheels():
    order, _, _ = planned(Wanted("suspension-arm", "rear left", "renew", criticality="safety"))

    after = order.index("adjust wheel-alignment")
    assert order.index("renew suspension-arm rear left") < after
    assert order.index("lower axle rear") < after
    assert after < order.index("road_test whole-car")


def test_wheels_come_off_once_for_all_that_lies_behind_them():
    _, made, _ = planned(hose(), Wanted("brake-discs", "front", "renew", criticality="safety"))

    assert [hold.name for hold in made.holds] == ["wheels off front"]
    assert [job.id for job in made.jobs].count("raise axle front") == 1


def test_coolant_is_drained_once_and_filled_after_the_last_hose():
    order, _, _ = planned(Wanted("coolant-hose", "", "renew"), Wanted("water-pump", "", "renew"))

    assert order[0] == "drain coolant"
    assert order[-1] == "renew coolant"


def test_the_inspection_is_last_and_its_repeat_follows_it():
    inspection = Wanted("whole-car", "", "roadworthiness_inspection", criticality="safety")
    failed = hose(tags=("failed-inspection",))
    order, _, _ = planned(inspection, failed)

    assert order[-2:] == [
        "roadworthiness_inspection whole-car",
        "roadworthiness_re_inspection whole-car",
    ]


def test_every_added_job_says_why_and_who_calls_for_it():
    _, made, _ = planned(hose())

    added = [job for job in made.jobs if job.id != "renew brake-hose front left"]
    assert all(job.reason and job.needed_by for job in added)


def test_every_prerequisite_says_why():
    _, _, steps = planned(hose())

    assert all(step.reason and step.source for step in steps)


def test_a_job_asked_for_twice_is_done_once_and_the_graver_reason_counts():
    worn = Wanted("brake-pads", "front", "renew", reason="worn")
    cracked = Wanted("brake-pads", "front", "renew", criticality="safety", reason="cracked")
    _, made, _ = planned(worn, cracked)

    pads = [job for job in made.jobs if job.kind == "brake-pads"]
    assert [(job.criticality, job.reason) for job in pads] == [("safety", "worn; cracked")]


def test_cautions_come_from_the_kind_and_from_the_job():
    _, made, _ = planned(Wanted("coil-spring", "front left", "renew", criticality="safety"))

    spring = next(job for job in made.jobs if job.kind == "coil-spring")
    assert {"stored-energy", "support"} <= set(spring.cautions)


def test_parts_on_offer_are_taken_for_jobs_that_name_none():
    offer = {("brake-hose", "front right"): (Part("hose", 3000),)}
    made = jobs_for([hose()], job_rules(), CAR, offer)

    mate = next(job for job in made.jobs if job.id == "renew brake-hose front right")
    assert mate.outlay == 3000


def document():
    text = files("maintenance.catalogue").joinpath("job_rules.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@pytest.mark.parametrize(
    ("table", "change", "words"),
    [
        ("standard_job", {"kind": "brake-padz"}, "brake-pads"),
        ("standard_job", {"hour": 2}, "hours"),
        ("standard_job", {"cautions": ["asbestus"]}, "asbestos"),
        ("precedence", {"where": "same car"}, "same axle"),
        ("precedence", {"source": " "}, "source: is empty"),
        ("follow_on", {"when": {"tags": ["new-frictions"]}}, "new-friction"),
        ("access", {"uses": [{"resource": "axle stand"}]}, "axle stands"),
    ],
)
def test_a_wrong_word_in_the_rules_is_refused_with_the_nearest_known_one(table, change, words):
    rules = document()
    rules[table][-1] |= change

    with pytest.raises(CatalogueError, match=words):
        read_job_rules(rules)
