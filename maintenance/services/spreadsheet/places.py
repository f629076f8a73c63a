"""Where in a sheet something is wrong: a row by its number, a cell by its column."""

from collections.abc import Iterator

from maintenance.services.refusals import Problem, Refused

#: The columns of the sheet, in the order in which they are written.
COLUMNS = (
    *("registration", "on", "visit", "odometer", "component", "position", "action", "to"),
    *("to_vehicle", "quantity", "value", "unit", "part_number", "supplier", "price", "currency"),
    *("done_by", "note"),
)
#: Without these a row says nothing.
REQUIRED = ("registration", "on", "component", "action")

#: Where the members of an event and of its entries stand in the sheet.
_OF_EVENT = {"on", "odometer", "done_by", "currency"}
_OF_ENTRY = {"kind": "component", "": "component", "measurement": "quantity"}
_OF_DESTINATION = {"vehicle": "to_vehicle"}


def in_row(row: int, column: str, message: str) -> Problem:
    """Return what is wrong with a cell, or with `column` empty with a row."""
    return Problem(f"/rows/{row}/{column}" if column else f"/rows/{row}", message)


def refused(message: str) -> Refused:
    """Return the refusal of a file as a whole."""
    return Refused([Problem("", message)])


def where(problem: Problem) -> tuple[int | None, str]:
    """Return the row and column of a problem; no row where it is of the file as a whole."""
    steps = problem.pointer.split("/")
    if len(steps) < 3 or steps[1] != "rows":
        return None, ""
    return int(steps[2]), steps[3] if len(steps) > 3 else ""


def said(problem: Problem) -> str:
    """Return a problem as people read it: "row 14, value: …"."""
    row, column = where(problem)
    if row is None:
        return problem.message
    return f"row {row}{f', {column}' if column else ''}: {problem.message}"


def in_rows(problem: Problem, rows: list[int]) -> Iterator[Problem]:
    """Return a problem of an event as one of its rows, given the row of each of its entries."""
    steps = problem.pointer.split("/")[1:]
    if steps[:1] == ["entries"]:
        members = [step for step in steps[2:] if not step.isdigit()]
        column = members[-1] if members else ""
        column = _OF_ENTRY.get(column, column)
        if members[:1] == ["to"]:
            column = _OF_DESTINATION.get(members[-1], "to")
        yield in_row(rows[int(steps[1])], column, problem.message)
        return
    column = steps[0] if steps and steps[0] in _OF_EVENT else ""
    for row in rows:
        yield in_row(row, column, problem.message)
