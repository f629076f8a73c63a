"""What a workshop has or hires, given as an argument of a command."""

from argparse import ArgumentTypeError
from decimal import Decimal, InvalidOperation

from maintenance.services.plans.terms import ResourceDraft

HELP = (
    "what jobs share: NAME[:COUNT[:COST_A_DAY]][:span][:for=KIND,KIND], such as lift:1:80 or "
    "'rented place:1:25:span'; span where it is paid from first day to last; may be repeated"
)


def resource(text: str) -> ResourceDraft:
    """Return a resource given as an argument."""
    name, *rest = (part.strip() for part in text.split(":"))
    figures = [part for part in rest if part != "span" and not part.startswith("for=")]
    kinds = [part.removeprefix("for=") for part in rest if part.startswith("for=")]
    if not name or len(figures) > 2:
        raise ArgumentTypeError(f"{text!r} is no resource; write it as lift:1:80")
    try:
        count = int(figures[0]) if figures else 1
        cost = Decimal(figures[1]) if len(figures) > 1 else Decimal(0)
    except (ValueError, InvalidOperation):
        raise ArgumentTypeError(
            f"{text!r}: count and cost are numbers; write it as lift:1:80"
        ) from None
    return ResourceDraft(
        name=name,
        capacity=count,
        daily_cost=cost,
        whole_span="span" in rest,
        used_for=tuple(kind.strip() for part in kinds for kind in part.split(",")),
    )
