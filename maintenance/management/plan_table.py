"""A plan printed for a terminal, at most a hundred columns wide."""

import textwrap
from collections.abc import Iterable
from typing import IO, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from maintenance.services.plans.answers import as_dict
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.money import shown

WIDTH = 100
_COSTS = ("parts", "consumables", "outside_work", "labour", "hire")


def print_plan(sheets: Sheets, out: IO[str]) -> None:
    """Print a plan: whether it holds, what to order, what it costs, and each day's jobs."""
    found = as_dict(sheets)
    console = Console(file=out, width=WIDTH, highlight=False)
    for line in _heading(sheets, found):
        console.print(Text(textwrap.fill(line, WIDTH, subsequent_indent="  ")))
    _print_orders(console, found)
    _print_costs(console, found)
    _print_jobs(console, found)
    for title, lines in (
        ("Critical", ["; ".join(found["critical_jobs"])] if found["critical_jobs"] else []),
        ("Left out", found["left_out"]),
        ("Assembly or part", found["assemblies"]),
        (_without_price(found), ["; ".join(found["without_price"])]),
        ("Papers that run out", found["papers"]),
        ("Caution", found["cautions"]),
        ("Note", found["notes"]),
    ):
        _print_lines(console, title, lines)


def _without_price(found: dict[str, Any]) -> str:
    """Return the heading of parts without a price, which may have one in another currency."""
    currency = found["currency"]
    return f"No price in {currency} on record" if currency else "No price without a currency named"


def _heading(sheets: Sheets, found: dict[str, Any]) -> Iterable[str]:
    vehicle = sheets.plan.vehicle
    car = f"{vehicle.registration} {vehicle.make} {vehicle.model}"
    yield f"{car}: back to the road by {found['by']}"
    conflict = found["conflict"]
    if conflict is not None:
        yield f"Impossible. {conflict['words']}"
        if conflict["ready_on_without"]:
            cost = shown(conflict["cost_without"], found["currency"])
            yield (
                "With no deadline and no budget the car is ready for inspection on "
                f"{conflict['ready_on_without']} at {cost}; that plan is below."
            )
        return
    yield f"Ready for inspection on {found['ready_on'] or 'any day: nothing has to be done'}."
    yield from (_stage(stage, found) for stage in found["stages"])
    if found["cut_short"]:
        yield "The clock stopped the search: another run may find another plan; give it more time."


def _stage(stage: dict[str, Any], found: dict[str, Any]) -> str:
    unit = stage["unit"]
    value, bound = (_figure(stage[one], unit, found["currency"]) for one in ("value", "bound"))
    better = "no plan does better" if stage["proven"] else f"no plan does better than {bound}"
    if unit == "of the currency" and found["without_price"]:
        count = len(found["without_price"])
        better += (
            f" in what has a price; {count} {'renewal has' if count == 1 else 'renewals have'} none"
        )
    return f"  {stage['name']}: {value} (proven: {better})"


def _figure(value: float, unit: str, currency: str) -> str:
    if unit == "of the currency":
        return shown(value, currency)
    return f"{value} {unit.removesuffix('s') if value == 1 else unit}"


def _print_orders(console: Console, found: dict[str, Any]) -> None:
    if not found["orders"]:
        return
    table = _table()
    for name in ("order by", "part", "from", "needed on"):
        table.add_column(name, no_wrap=name in ("order by", "needed on"))
    table.add_column("days", justify="right", no_wrap=True)
    table.add_column("price", justify="right", no_wrap=True)
    for order in _gathered(found["orders"]):
        table.add_row(
            Text(order["order_by"], style="bold red" if order["now"] else ""),
            f"{order['quantity']} × {order['part']}",
            order["supplier"],
            order["needed_on"],
            str(order["lead_days"]),
            f"{order['price'] * order['quantity']:,.2f}",
        )
    console.print("\nTo order", style="bold")
    console.print(table)
    now = [order for order in found["orders"] if order["now"]]
    console.print(f"To be ordered now, within a week: {len(now)} of {len(found['orders'])} parts.")


def _gathered(orders: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Put equal parts of one order into one line."""
    lines: dict[tuple[Any, ...], dict[str, Any]] = {}
    for order in orders:
        same = ("order_by", "part", "supplier", "needed_on", "price")
        key = tuple(order[name] for name in same)
        if key in lines:
            lines[key]["quantity"] += order["quantity"]
        else:
            lines[key] = dict(order)
    return list(lines.values())


def _print_costs(console: Console, found: dict[str, Any]) -> None:
    costs = found["costs"]
    if costs is None:
        return
    currency = found["currency"]
    parts = [f"{name.replace('_', ' ')} {costs[name]:,.2f}" for name in _COSTS if costs[name]]
    console.print(Text(f"\nCost {shown(costs['total'], currency)}", style="bold"))
    lines = [", ".join(parts)]
    if costs["budget"] is not None:
        left = shown(costs["left_of_budget"], currency)
        lines.append(f"of a budget of {shown(costs['budget'], currency)}, {left} left")
    for name in ("supplier", "system"):
        shares = [f"{one[name]} {one['amount']:,.2f}" for one in costs[f"by_{name}"]]
        lines.append(f"by {name}: {', '.join(shares)}" if shares else "")
    for line in filter(None, lines):
        console.print(Text(_filled(line)))


def _print_jobs(console: Console, found: dict[str, Any]) -> None:
    table = _table()
    table.add_column("day and time", no_wrap=True)
    table.add_column("job", ratio=1)
    table.add_column("who", no_wrap=True, max_width=24)
    table.add_column("hours", justify="right", no_wrap=True)
    table.add_column("parts", justify="right", no_wrap=True)
    table.add_column("slack", justify="right", no_wrap=True)
    day = None
    for job in found["jobs"]:
        if job["starts_on"] is None or job["state"] == "done":
            continue
        if job["starts_on"] != day:
            day = job["starts_on"]
            table.add_row(Text(day, style="bold"))
        table.add_row(*_cells(job))
    if table.row_count:
        console.print("\nJobs", style="bold")
        console.print(table)


def _cells(job: dict[str, Any]) -> list[str | Text]:
    end = job["ends_at"] if job["ends_on"] == job["starts_on"] else f"{job['ends_on'][5:]}"
    slack = "critical" if job["critical"] else f"{job['float_days']} d"
    return [
        f"  {job['starts_at']}-{end}",
        Text(job["told"], style="bold" if job["criticality"] == "safety" else ""),
        ", ".join(job["people"]),
        f"{job['hours']:g}",
        f"{job['outlay']:,.2f}" if job["outlay"] else "",
        slack,
    ]


def _print_lines(console: Console, title: str, lines: Iterable[str]) -> None:
    for line in filter(None, lines):
        console.print(Text(textwrap.fill(f"{title}: {line}", WIDTH, subsequent_indent="  ")))


def _filled(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _table() -> Table:
    return Table(box=None, pad_edge=False, header_style="bold")
