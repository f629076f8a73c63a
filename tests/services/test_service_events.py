from decimal import Decimal

import pytest

from maintenance.models import CarriedOver, Entry, Measurement, ServiceEvent
from maintenance.services.drafts import Place
from maintenance.services.evidence import withdraw
from maintenance.services.service_events import correct_service_event, record_service_event
from tests.factories import ComponentFactory, OdometerReadingFactory, VehicleFactory
from tests.services.asking import day, entry, event, measured, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    """A car of 1968 with brakes, a tyre and a half-shaft whose boot is part of it."""
    vehicle = VehicleFactory(built_on=day("1968-03-04"))
    ComponentFactory(vehicle=vehicle, kind="brake-fluid")
    ComponentFactory(vehicle=vehicle, kind="brake-pads", position="front")
    ComponentFactory(vehicle=vehicle, kind="tyre", position="front left")
    shaft = ComponentFactory(vehicle=vehicle, kind="half-shaft", position="left")
    ComponentFactory(vehicle=vehicle, kind="half-shaft-boot", position="left outer", assembly=shaft)
    return vehicle


def test_an_event_is_recorded_with_entries_measurement_and_parts_carried_over(car, when):
    boot = Place("half-shaft-boot", "left outer")
    record_service_event(
        vehicle=car,
        draft=event(
            entry("half-shaft", "left", carried_over=(boot,)),
            entry(
                "brake-pads", "front", "measure", measurement=measured("lining_thickness", 4, "mm")
            ),
            cost=Decimal("120.50"),
            currency="EUR",
        ),
        **when,
    )
    counts = [model.objects.count() for model in (ServiceEvent, Entry, CarriedOver, Measurement)]
    assert counts == [1, 2, 1, 1]


def test_a_day_known_only_as_a_year_is_kept_as_stated(car, when):
    made = record_service_event(vehicle=car, draft=event(entry(), on="2019"), **when)
    assert (made.on_stated, made.on, made.until) == ("2019", day("2019-01-01"), day("2019-12-31"))


def test_the_year_in_which_the_car_was_built_is_not_before_it_was_built(car, when):
    assert record_service_event(vehicle=car, draft=event(entry(), on="1968"), **when)


def test_the_present_year_is_not_in_the_future(car, when):
    assert record_service_event(vehicle=car, draft=event(entry(), on="2026"), **when)


@pytest.mark.parametrize(("on", "why"), [("1967", "before the car was built"), ("2027", "after")])
def test_a_year_wholly_out_of_the_cars_life_is_refused(on, why, car, when):
    problems = refused(record_service_event, vehicle=car, draft=event(entry(), on=on), **when)
    assert why in problems["/on"]


def test_a_component_that_the_car_does_not_have_is_refused_with_the_nearest_it_has(car, when):
    draft = event(entry("tyre", "front right"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "the nearest it has is 'tyre front left'" in problems["/entries/0/position"]


def test_a_kind_that_the_car_does_not_have_is_refused(car, when):
    draft = event(entry("brake-discs", "front"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "has no component 'brake-discs front'" in problems["/entries/0/kind"]


def test_every_unknown_word_is_refused_at_once_with_the_nearest_known_one(car, when):
    draft = event(
        entry("brake-fliud", action="renw"),
        entry("brake-pads", "front", "measure", measurement=measured("linning_thickness", 4, "mm")),
    )
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    near = {pointer: message.rsplit(" ", 1)[1] for pointer, message in problems.items()}
    assert near == {
        "/entries/0/kind": "'brake-fluid'",
        "/entries/0/action": "'renew'",
        "/entries/1/measurement/quantity": "'lining_thickness'",
    }


def test_a_measurement_in_inches_is_refused_with_the_unit_wanted(car, when):
    draft = event(
        entry("brake-pads", "front", "measure", measurement=measured("lining_thickness", 4, "in"))
    )
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "give it in 'mm'" in problems["/entries/0/measurement/unit"]


@pytest.mark.parametrize("value", ["80", "-1", "NaN", "Infinity", "1.23456"])
def test_a_tread_depth_that_no_tyre_has_is_refused(value, car, when):
    draft = event(
        entry("tyre", "front left", "measure", measurement=measured("tread_depth", value, "mm"))
    )
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert set(problems) == {"/entries/0/measurement/value"}


def test_an_action_to_measure_needs_its_measurement(car, when):
    draft = event(entry("brake-pads", "front", "measure"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert set(problems) == {"/entries/0/measurement"}


def test_a_cost_needs_its_currency(car, when):
    draft = event(entry(), cost=Decimal(5))
    assert set(refused(record_service_event, vehicle=car, draft=draft, **when)) == {"/currency"}


@pytest.mark.parametrize("cost", ["-0.01", "NaN", "1e12", "1.005"])
def test_a_cost_that_is_no_amount_of_money_is_refused(cost, car, when):
    draft = event(entry(), cost=Decimal(cost), currency="EUR")
    assert set(refused(record_service_event, vehicle=car, draft=draft, **when)) == {"/cost"}


def test_the_same_entry_twice_is_refused(car, when):
    problems = refused(record_service_event, vehicle=car, draft=event(entry(), entry()), **when)
    assert set(problems) == {"/entries/1"}


def test_a_tyre_made_in_week_31_of_2004_was_made_by_its_own_week_rule(car, when):
    draft = event(entry("tyre", "front left", date_code="3104"), on="2005-03-01")
    record_service_event(vehicle=car, draft=draft, **when)
    assert Entry.objects.get().manufactured_on == day("2004-08-01")


def test_a_three_digit_code_is_taken_with_the_date_that_gives_its_decade(car, when):
    draft = event(
        entry("tyre", "front left", date_code="439", manufactured="1989-Q4"), on="1990-03-01"
    )
    record_service_event(vehicle=car, draft=draft, **when)
    assert Entry.objects.get().manufactured_on == day("1989-10-22")


def test_a_three_digit_code_alone_is_refused(car, when):
    draft = event(entry("tyre", "front left", date_code="439"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "does not say its decade" in problems["/entries/0/date_code"]


def test_a_code_and_a_date_that_disagree_are_refused(car, when):
    draft = event(entry("tyre", "front left", date_code="3104", manufactured="2005-Q1"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "not in '2005-Q1'" in problems["/entries/0/date_code"]


def test_a_date_code_on_anything_but_a_tyre_is_refused(car, when):
    problems = refused(
        record_service_event, vehicle=car, draft=event(entry(date_code="3104")), **when
    )
    assert "for tyres only" in problems["/entries/0/date_code"]


def test_a_part_made_after_it_was_fitted_is_refused(car, when):
    draft = event(entry("tyre", "front left", manufactured="2026-06"), on="2026-05-01")
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "a part is made before it is fitted" in problems["/entries/0/manufactured"]


def test_only_parts_of_the_assembly_renewed_can_be_carried_over(car, when):
    draft = event(entry("half-shaft", "left", carried_over=(Place("brake-fluid"),)))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "is not part of half-shaft left" in problems["/entries/0/carried_over/0"]


def test_nothing_is_carried_over_by_an_inspection(car, when):
    draft = event(
        entry(
            "half-shaft", "left", "inspect", carried_over=(Place("half-shaft-boot", "left outer"),)
        )
    )
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert set(problems) == {"/entries/0/carried_over"}


def test_an_odometer_that_contradicts_a_reading_is_refused(car, when):
    OdometerReadingFactory(vehicle=car, on=day("2026-03-01"), value=48000)
    draft = event(entry(), on="2026-05-01", odometer=Decimal(4800))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert "reading of 2026-03-01" in problems["/odometer"]


def test_an_event_of_a_year_is_not_refused_if_one_day_of_the_year_fits(car, when):
    OdometerReadingFactory(vehicle=car, on=day("2019-06-01"), value=48000)
    draft = event(entry(), on="2019", odometer=Decimal(48500))
    assert record_service_event(vehicle=car, draft=draft, **when)


def test_a_refused_event_leaves_nothing_behind(car, when):
    refused(record_service_event, vehicle=car, draft=event(entry(), entry("nothing")), **when)
    assert (ServiceEvent.objects.count(), Entry.objects.count()) == (0, 0)


def test_a_text_with_a_nul_character_is_refused(car, when):
    draft = event(entry(note="a\0b"))
    problems = refused(record_service_event, vehicle=car, draft=draft, **when)
    assert set(problems) == {"/entries/0/note"}


def test_a_correction_replaces_the_event_with_all_its_entries(car, when):
    wrong = record_service_event(vehicle=car, draft=event(entry(), on="2026-05-01"), **when)
    right = correct_service_event(
        event=wrong,
        draft=event(entry("tyre", "front left"), on="2026-05-02"),
        reason="the tyre, not the fluid",
        **when,
    )
    wrong.refresh_from_db()
    assert (wrong.current, right.supersedes_id, right.entries.get().component.kind) == (
        False,
        wrong.pk,
        "tyre",
    )


def test_a_correction_may_state_the_same_odometer_as_the_event_it_corrects(car, when):
    OdometerReadingFactory(vehicle=car, on=day("2026-06-01"), value=48100)
    wrong = record_service_event(vehicle=car, draft=event(odometer=Decimal(48090)), **when)
    draft = event(odometer=Decimal(48000), note="misread")
    assert correct_service_event(event=wrong, draft=draft, reason="misread", **when)


def test_a_withdrawn_event_stays_and_says_why(car, when):
    wrong = record_service_event(vehicle=car, draft=event(entry()), **when)
    gone = withdraw(record=wrong, reason="of another car", **when)
    wrong.refresh_from_db()
    assert (wrong.current, gone.withdrawn, gone.reason) == (False, True, "of another car")
