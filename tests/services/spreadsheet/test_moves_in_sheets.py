"""Parts that move, in sheets: where a row may say that they went, and back again to the byte."""

import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.models import Arrival, Collection, Component, DueItem, Entry, ServiceEvent, Vehicle
from maintenance.services.departures import leave
from maintenance.services.drafts import Destination
from maintenance.services.refusals import Refused
from maintenance.services.service_events import record_service_event
from maintenance.services.spreadsheet.export_entries import WRITERS, exported_rows
from maintenance.services.spreadsheet.places import COLUMNS
from maintenance.services.spreadsheet.visits import cells_of, entry_of
from maintenance.services.verify_history import verify_history
from tests.factories import CollectionFactory, ComponentFactory, MemberFactory, VehicleFactory
from tests.services.asking import day, entry, event
from tests.services.spreadsheet.sheets import as_csv, as_xlsx, refusals, take

pytestmark = pytest.mark.django_db
FITTED = "2020-03-01"
PLACES = ("front left", "rear left", "rack")


def tyres(registration, club=None, **said):
    """A car with two places for tyres and a damp rack for a third."""
    car = VehicleFactory(registration=registration, collection=club or CollectionFactory(), **said)
    for position in PLACES:
        storage = "damp" if position == "rack" else ""
        ComponentFactory(vehicle=car, kind="tyre", position=position, storage=storage)
    return car


@pytest.fixture
def heron():
    return tyres("HM 77")


@pytest.fixture
def tern(heron):
    return tyres("HM 78", heron.collection)


def row(position="front left", action="renew", on=FITTED, **said):
    given = {"registration": "HM 77", "on": on, "component": "tyre", "position": position}
    return given | {"action": action, "to": "", "to_vehicle": "", "visit": ""} | said


def moved(position, to, on="2025-03-01", **said):
    return row(position, "move", on, to=to, **said)


def of_tern(*rows):
    return [each | {"registration": "HM 78"} for each in rows]


#: The other car has no tyre in front; the one of the first car goes there.
EMPTIED = of_tern(row(action="remove", on="2022-01-01"))
LENT = moved("front left", "tyre front left", to_vehicle="HM 78")


def clocks(car):
    """The places of a car's tyres that are asked something, with the day their clock began."""
    rows = DueItem.objects.filter(vehicle__registration=car, kind="tyre", task="renew")
    return {item.position: item.cycle for item in rows}


def faults():
    return [fault for found in verify_history(Vehicle.objects.all()) for fault in found.faults]


@pytest.mark.parametrize("written", [as_csv, as_xlsx])
@pytest.mark.parametrize("to", ["tyre rack", "rack", "Tyre  rack", " tyre rack "])
def test_a_part_goes_to_a_place_of_its_car(to, written, heron, when):
    take(written(row(), moved("front left", to)), heron.collection, when)
    assert clocks("HM 77") == {"rack": FITTED, "rear left": ""}


@pytest.mark.parametrize("to", ["half-shaft", "Half shaft"])
def test_the_only_place_of_its_kind_is_named_by_the_kind(to, heron, when):
    for position, storage in (("", ""), ("bench", "dry")):
        ComponentFactory(vehicle=heron, kind="half-shaft", position=position, storage=storage)
    off = row("", "remove", component="half-shaft")
    bench = row("bench", "renew", component="half-shaft")
    back = moved("bench", to, component="half-shaft")
    take(as_csv(off, bench, back), heron.collection, when)
    assert Entry.objects.get(action="move").moved_to.position == ""


@pytest.mark.parametrize("mark", ["HM 78", "hm-78", "hm78"])
def test_a_part_goes_to_another_car_however_its_mark_is_written(mark, heron, tern, when):
    take(as_csv(*EMPTIED, row(), LENT | {"to_vehicle": mark}), heron.collection, when)
    assert (clocks("HM 77"), clocks("HM 78")) == (
        {"rear left": ""},
        {"front left": FITTED, "rear left": ""},
    )
    assert Arrival.objects.get().vehicle == tern
    assert not faults()


def test_the_car_itself_may_be_named_as_the_one_it_goes_to(heron, when):
    sheet = as_csv(row(), moved("front left", "rack", to_vehicle="hm77"))
    take(sheet, heron.collection, when)
    assert not Arrival.objects.exists() and clocks("HM 77")["rack"] == FITTED
    assert take(sheet, heron.collection, when).already_there == 2


def test_tyres_that_change_places_in_one_visit_do_so_at_one_time(heron, when):
    rotation = moved("front left", "rear left"), moved("rear left", "front left")
    take(as_csv(row(), row("rear left", on="2024-03-01"), *rotation), heron.collection, when)
    assert clocks("HM 77") == {"front left": "2024-03-01", "rear left": FITTED}


def test_rows_of_a_visit_count_in_the_order_of_the_sheet(heron, when):
    gone = moved("front left", "rear left")
    room = row("rear left", "remove", on="2025-03-01")
    assert take(as_csv(room, gone), heron.collection, when).events_added == 1
    take(as_csv(row()), heron.collection, when)
    assert clocks("HM 77") == {"rear left": FITTED}


def test_two_moves_of_a_part_on_one_day_are_told_apart_by_the_visit(heron, when):
    twice = moved("front left", "rack"), moved("rack", "front left", visit="2")
    assert take(as_csv(row(), *twice), heron.collection, when).events_added == 3
    assert clocks("HM 77")["front left"] == FITTED


def test_prices_in_two_currencies_do_not_change_what_came_first(heron, when):
    on = "2025-03-01"
    sheet = as_csv(
        moved("front left", "rack", price="4", currency="EUR"),
        row("front left", on=on, price="90", currency="GBP"),
        row("front left", "clean", on=on, price="2", currency="EUR"),
    )
    take(sheet, heron.collection, when)
    assert [each.entries.count() for each in ServiceEvent.objects.order_by("pk")] == [1, 1, 1]


@pytest.mark.parametrize(
    ("said", "line"),
    [
        (moved("front left", ""), "row 2, to: is empty, but the action is move; say where"),
        (row(to="rack"), "row 2, to: is for the action move only; empty it"),
        (row(to_vehicle="HM 78"), "row 2, to_vehicle: is for the action move only"),
        (moved("front left", "tyre rakc"), "row 2, to: HM 77 has no component 'tyre rakc'; the ne"),
        (moved("front left", "front left"), "row 2, to: the part is in tyre front left already"),
        (moved("front left", "#REF!"), "row 2, to: holds the error #REF!"),
        (LENT | {"to": "frnt left"}, "row 2, to: HM 78 has no component 'tyre frnt left'; the nea"),
        (LENT | {"to": ""}, "row 2, to: HM 78 has no component 'tyre'; the nearest it has is"),
        (LENT | {"to_vehicle": "HM 79"}, "row 2, to_vehicle: no car is registered 'HM 79'; did y"),
        (LENT, "row 2, to: on 2025-03-01 a part is still in tyre front left of HM 78; record"),
        (moved("rack", "rear left"), "row 2: on 2025-03-01 nothing is in tyre rack of HM 77 that"),
    ],
)
def test_a_move_that_goes_nowhere_is_refused_in_its_cell(said, line, heron, tern, when):
    found = refusals(as_csv(said), heron.collection, when)
    assert found[0].startswith(line)
    assert not ServiceEvent.objects.exists() and not Arrival.objects.exists()


def test_a_move_without_the_column_asks_for_it(heron, when):
    bare = {name: text for name, text in moved("rack", "").items() if not name.startswith("to")}
    (line,) = refusals(as_csv(bare), heron.collection, when)
    assert line.startswith("row 2, to: is empty, but the action is move")


def test_an_unknown_kind_is_told_of_once(heron, when):
    (line,) = refusals(
        as_csv(moved("front left", "rack", component="tyer")), heron.collection, when
    )
    assert line.startswith("row 2, component: ")


def test_an_unknown_car_is_told_of_beside_what_else_is_wrong_with_the_row(heron, when):
    lines = refusals(as_csv(LENT | {"price": "much", "to_vehicle": "X"}), heron.collection, when)
    assert [line.split(":")[0] for line in lines] == ["row 2, price", "row 2, to_vehicle"]


def test_one_place_can_take_one_part(heron, when):
    both = moved("front left", "rack"), moved("rear left", "rack")
    (line,) = refusals(as_csv(*both), heron.collection, when)
    assert line == ("row 3, to: another part goes to tyre rack in the same event; take one out")


def test_what_makes_a_move_on_record_impossible_is_refused(heron, when):
    take(as_csv(row(), moved("front left", "rack")), heron.collection, when)
    (line,) = refusals(as_csv(row(action="remove", on="2024-02-01")), heron.collection, when)
    assert line.startswith("contradicts a move on record: on 2025-03-01 nothing is in tyre front")


def test_a_car_that_the_importer_does_not_write_to_is_as_unknown_as_none(heron, when):
    keeper = MemberFactory(collection=heron.collection, role="keeper")
    heron.keeper = keeper
    heron.save()
    others = tyres("ZZ 900", heron.collection), tyres("ZZ 901")
    asked = when | {"by": keeper.account}
    sheets = [
        as_csv(LENT | {"to_vehicle": "ZZ 900"}),
        as_csv(LENT | {"to_vehicle": "ZZ 901"}),
        as_csv(LENT | {"to_vehicle": "ZZ 900", "to": "nowhere"}),
    ]
    found = [refusals(sheet, heron.collection, asked) for sheet in sheets]
    for car in others:
        car.components.all().delete()
        car.delete()
    assert found == [refusals(sheet, heron.collection, asked) for sheet in sheets]
    assert found[0][0].startswith("row 2, to_vehicle: no car is registered 'ZZ 900'")


def test_a_keeper_sends_back_an_export_with_a_part_that_went_to_the_car_of_another(
    heron, tern, when
):
    take(as_csv(*EMPTIED, row(), LENT), heron.collection, when)
    keeper = MemberFactory(collection=heron.collection, role="keeper")
    Vehicle.objects.filter(pk=heron.pk).update(keeper=keeper)
    asked = when | {"by": keeper.account}
    raw = exported("csv", Vehicle.objects.filter(pk=heron.pk))
    assert take(raw, heron.collection, asked).already_there == 2
    (line,) = refusals(as_csv(LENT | {"on": "2025-03-02"}), heron.collection, asked)
    assert line.startswith("row 2, to_vehicle: no car is registered 'HM 78'")


def test_a_keeper_moves_parts_between_their_own_cars(heron, tern, when):
    keeper = MemberFactory(collection=heron.collection, role="keeper")
    Vehicle.objects.update(keeper=keeper)
    asked = when | {"by": keeper.account}
    assert take(as_csv(*EMPTIED, row(), LENT), heron.collection, asked).entries_added == 3


def test_no_part_goes_to_a_car_that_has_left(heron, tern, when):
    take(as_csv(*EMPTIED, row(), LENT), heron.collection, when)
    leave(vehicle=tern, on=day("2026-06-01"), how="sold", note="", **when)
    assert take(as_csv(*EMPTIED, row(), LENT), heron.collection, when).already_there == 3
    again = moved("rear left", "rear left", to_vehicle="HM 78")
    (line,) = refusals(as_csv(again), heron.collection, when)
    assert line.startswith("row 2, to_vehicle: HM 78 has left the collection")


def test_a_car_removed_while_the_sheet_is_read_is_told_of(heron, tern, when, monkeypatch):
    from maintenance.services.spreadsheet import import_entries as module

    def locked_late(cars):
        tern.components.all().delete()
        tern.delete()

    monkeypatch.setattr(module, "lock_all", locked_late)
    lines = refusals(as_csv(row(), *EMPTIED), heron.collection, when)
    assert lines == [f"row 3, registration: {module._GONE}"]


@pytest.mark.parametrize("most", [1, 2, 200])
def test_cars_that_exchange_parts_are_taken_together_wherever_they_stand(most, when, monkeypatch):
    monkeypatch.setattr("maintenance.services.spreadsheet.import_entries.CHUNK", most)
    club = CollectionFactory()
    cars = [tyres(f"HM {number}", club) for number in range(4)]
    sheet = [row(registration=car.registration) for car in cars]
    # Each part goes to the next car, whose own one goes on; the last goes to the rack.
    for number in range(3):
        gone = moved("front left", "front left", to_vehicle=f"HM {number + 1}")
        sheet.append(gone | {"registration": f"HM {number}"})
    sheet.append(moved("front left", "rack") | {"registration": "HM 3"})
    take(as_csv(*sheet[::-1]), club, when)
    assert "front left" not in clocks("HM 0")
    assert clocks("HM 3") == {"front left": FITTED, "rack": FITTED, "rear left": ""}
    assert not faults()


def test_deeds_of_one_day_on_two_cars_follow_each_other_as_in_the_sheet(heron, tern, when):
    on = "2025-03-01"
    take(as_csv(row()), heron.collection, when)
    first, last = of_tern(row(action="remove", on=on), row(on=on, visit="2"))
    take(as_csv(first, LENT, last), heron.collection, when)
    assert clocks("HM 78") == {"front left": on, "rear left": ""}


def test_the_queries_do_not_grow_with_the_moves(when):
    counts = []
    for cars in (3, 9):
        club = CollectionFactory()
        sheet = [row("rear left", "remove", registration="HM 0")]
        for number in range(cars):
            tyres(f"HM {number}", club)
            on, there = f"2025-03-{number + 1:02}", f"HM {number}"
            gone = moved("rear left", "rear left", on, to_vehicle=there)
            sheet.append(gone | {"registration": f"HM {number + 1}"})
        with CaptureQueriesContext(connection) as asked:
            take(as_csv(*sheet[:-1]), club, when)
        counts.append(len(asked))
    # SQLite takes fewer due items in one statement than there are of nine cars.
    assert counts[1] - counts[0] <= 1


def exported(form, vehicles):
    stream = io.BytesIO()
    WRITERS[form](exported_rows(vehicles), stream)
    return stream.getvalue()


def export(form, club):
    return exported(form, Vehicle.objects.filter(collection=club))


def without_events(club):
    """The same cars with the same places in another club, with nothing done to them yet."""
    made = Collection.objects.create(name="elsewhere")
    for car in Vehicle.objects.filter(collection=club):
        places = list(car.components.values("kind", "position", "storage"))
        twin = VehicleFactory(collection=made, registration=car.registration, built_on=car.built_on)
        for place in places:
            ComponentFactory(vehicle=twin, **place)
    return made


def answers(club):
    """What is asked of each place, and which are empty."""
    items = DueItem.objects.filter(collection=club).values_list(
        *("vehicle__registration", "kind", "position", "task", "cycle", "due_on", "key")
    )
    empty = Component.objects.filter(collection=club).values_list(
        "vehicle__registration", "kind", "position", "empty_since"
    )
    return sorted(item[:-1] for item in items), sorted(map(str, empty))


def comes_back(club, when):
    """Say whether all forms of a club's sheet come back to the byte, with the same due days."""
    other = without_events(club)
    first = export("csv", club)
    take(first, other, when)
    assert export("csv", other) == first
    assert take(first, other, when).entries_added == 0
    another = without_events(club)
    take(export("xlsx", club), another, when)
    assert export("csv", another) == first
    assert answers(club) == answers(other) == answers(another)
    return first.decode("utf-8-sig")


def test_moves_come_back_to_the_byte(heron, tern, when):
    twice = moved("rear left", "rack"), moved("rack", "rear left", visit="a")
    take(as_csv(*EMPTIED, row(), LENT, *twice), heron.collection, when)
    text = comes_back(heron.collection, when)
    assert "HM 77,2025-03-01,,,tyre,front left,move,tyre front left,HM 78," in text
    assert "HM 77,2025-03-01,2,,tyre,rack,move,tyre rear left,," in text


def test_a_move_to_the_only_place_of_its_kind_comes_back(heron, when):
    for position, storage in (("", ""), ("bench", "dry")):
        ComponentFactory(vehicle=heron, kind="half-shaft", position=position, storage=storage)
    off, on = (row(place, "remove", component="half-shaft") for place in ("", "bench"))
    back = moved("bench", "half-shaft", component="half-shaft")
    take(as_csv(off, on | {"action": "renew"}, back), heron.collection, when)
    assert ",half-shaft,bench,move,half-shaft,," in comes_back(heron.collection, when)


def test_the_mark_of_the_other_car_begins_no_formula(heron, when):
    tyres("=HM+78", heron.collection)
    take(
        as_csv(
            row(action="remove", registration="=HM+78"),
            moved("front left", "rear left") | {"to": "front left", "to_vehicle": "=HM+78"},
        ),
        heron.collection,
        when,
    )
    text = comes_back(heron.collection, when)
    assert ",move,tyre front left,'=HM+78," in text and "'=HM+78,2020-03-01," in text


def test_the_order_of_the_deeds_of_a_day_comes_back(heron, when):
    on = "2025-03-01"
    take(as_csv(row(), moved("front left", "rack"), row(on=on)), heron.collection, when)
    text = comes_back(heron.collection, when)
    assert text.index("move") < text.rindex("renew")


CARS = ("HM 77", "HM 78")
DEEDS = st.tuples(
    st.sampled_from(PLACES),
    st.sampled_from(["renew", "remove", "inspect", "move", "move"]),
    st.sampled_from(PLACES),
    st.sampled_from(CARS),
)
EVENTS = st.lists(
    st.tuples(st.sampled_from(CARS), st.integers(1, 3), st.lists(DEEDS, min_size=1, max_size=3)),
    min_size=2,
    max_size=8,
)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(events=EVENTS)
def test_whatever_moves_were_recorded_come_back_with_the_same_due_days(events, when):
    club = CollectionFactory()
    cars = {mark: tyres(mark, club) for mark in CARS}
    for mark, number, deeds in events:
        entries = [
            entry(
                "tyre",
                position,
                action,
                to=Destination(to, "" if other == mark else other) if action == "move" else None,
            )
            for position, action, to, other in deeds
        ]
        try:
            draft = event(*entries, on=f"2025-03-0{number}")
            record_service_event(vehicle=cars[mark], draft=draft, **when)
        except Refused:
            continue
    comes_back(club, when)


POSITIONS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=12).map(
    str.strip
) | st.sampled_from(["tyre", "tyre front", "Tyre tyre", "-tyre"])


@given(position=POSITIONS, mark=POSITIONS)
def test_every_place_that_is_written_is_read_as_the_same(position, mark):
    cells = dict.fromkeys(COLUMNS, "") | {"on": "2026", "component": "tyre", "action": "move"}
    said = entry_of(cells | {"to": f"tyre {position}".strip(), "to_vehicle": mark})
    assert said.entry.to == Destination(position, mark)
    assert entry_of(cells_of(said)) == said
