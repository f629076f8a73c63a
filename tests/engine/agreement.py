"""Asks the engine and the reference the same, and tells wherein their answers differ."""

from maintenance.engine.due import due_items
from tests import reference
from tests.engine.columns_from_history import engine_day, fleet_of, items_by_car


def ask_engine(cases):
    """The engine's items for some cars asked about on one day, in the order it gives them."""
    (on,) = {case.on for case in cases}
    fleet = fleet_of(cases)
    found = items_by_car(fleet, due_items(fleet.batch, on=engine_day(on)))
    # Cars that only lent parts come after those asked about, and fall due by nothing.
    assert not any(found[len(cases) :])
    return found[: len(cases)]


def ask_reference(case):
    return reference.due_items(case.vehicle, case.rules, case.regime, case.on, case.fleet)


def differences(items, others):
    """The items that only one of two answers has, as lines of text."""
    lines = [_line("engine", item) for item in items if item not in others]
    lines += [_line("reference", item) for item in others if item not in items]
    return sorted(lines)


def _line(who, item):
    return f"{item['component']} {item['position']}, {item['rule']}: {who} says {item}"


def agreed(case):
    """A car's items, in which engine and reference agree."""
    (items,) = ask_engine([case])
    others = ask_reference(case)
    assert not (found := differences(items, others)), "\n".join(found)
    assert len(items) == len(others)
    return items
