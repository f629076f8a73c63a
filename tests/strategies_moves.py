"""Parts that move, for generated cars: to another place, to a shelf, to another car, and back.

The cars' events are gone through in order of days, and a move is put in where there is something
to move and room for it. A move is the last thing that happens to its car on a day.
"""

from decimal import Decimal

from hypothesis import strategies as st

from tests.reference.dates import iso
from tests.reference.history import History
from tests.reference.moves import Walk, shelves

YES_NO = st.booleans()
ONE_IN_THREE = st.integers(0, 2).map(lambda drawn: drawn == 0)
GRADES = st.sampled_from(["heated", "dry", "damp", "outdoors"])
MOST_MOVES = 5
THICKNESS = st.integers(20, 90).map(lambda tenths: Decimal(tenths) / 10)


def give_moves(draw, histories, on):
    """Add shelves and moves to some cars; return whether anything moved."""
    for history in histories:
        _add_shelf(draw, history)
    cars = {history.vehicle["registration"]: history for history in histories}
    vehicles = [car.vehicle for car in cars.values()]
    known = {mark: History.of(car.vehicle, on + 500) for mark, car in cars.items()}
    walk = Walk(known, shelves(vehicles))
    moved = 0
    for day in sorted({day for car in cars.values() for day in car.days if day <= on + 1}):
        for mark, car in cars.items():
            for entries in _entries_on(walk, mark, day):
                walk.event(mark, entries)
            if moved < MOST_MOVES and draw(ONE_IN_THREE):
                moved += _move(draw, walk, mark, car, day)
    return moved > 0


def _add_shelf(draw, history):
    kinds = sorted({kind for kind, _ in history.components})
    if draw(YES_NO):
        return
    place = (draw(st.sampled_from(kinds)), "shelf")
    history.components[place] = None
    row = {"kind": place[0], "position": place[1], "storage": draw(GRADES)}
    history.vehicle["components"].append(row)


def _entries_on(walk, mark, day):
    """What happened on a day, and on days before it that no car has among its own."""
    history = walk.histories[mark]
    found = [entries for entries in history.events if entries and entries[0].day <= day]
    history.events = [entries for entries in history.events if entries not in found]
    return sorted(found, key=lambda entries: entries[0].day)


def _move(draw, walk, mark, car, day):
    """Put in one move or exchange where the car has a part to move; return how many."""
    holders = {holder for holder in car.components.values() if holder is not None}
    sources = [
        place
        for place in car.components
        if place not in holders and not walk.parts[mark, *place].missing
    ]
    ways = [
        (source, there, same_car and not part.missing)
        for source in sources
        for there, part in walk.parts.items()
        if there[1] == source[0] and there != (mark, *source)
        for same_car in [there[0] == mark and there[1:] in sources]
        if part.missing or same_car
    ]
    if not ways:
        return 0
    source, there, both = draw(st.sampled_from(ways))
    moves = [_row(mark, source, there)]
    if both:
        moves.append(_row(mark, there[1:], (mark, *source)))
    entries = [*_looked_at(draw, source), *moves, *_looked_at(draw, source)]
    event = {"on": iso(day), "true_day": day, "entries": entries}
    car.vehicle["service_events"].append(event)
    (taken,) = History.of(car.vehicle | {"service_events": [event]}, day).events
    walk.event(mark, taken)
    return 1


def _row(mark, source, there):
    to = {"position": there[2]} | ({} if there[0] == mark else {"vehicle": there[0]})
    return {"kind": source[0], "position": source[1], "action": "move", "to": to}


def _looked_at(draw, place):
    if draw(YES_NO):
        return []
    measured = {"quantity": "lining_thickness", "value": draw(THICKNESS), "unit": "mm"}
    row = {"kind": place[0], "position": place[1], "action": "measure", "measurement": measured}
    return [row]
