"""The arithmetic of a battery's discharge on the shelf, one stay after another."""

from maintenance.engine.ageing.battery import CHARGE, SPECIFIC_GRAVITY, gravity_to_charge
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.estimate import Estimate
from maintenance.engine.ageing.self_discharge import RATE_BAND, RECHARGE_GRAVITY, loss_a_day
from maintenance.engine.working.by_wear import scientific
from maintenance.engine.working.lines import Line, Sheet


def discharge_lines(
    start: float, left: Estimate, stood: list[tuple[float, StoreClimate]]
) -> list[Line]:
    """Return how the charge that is left follows from the gravity at the start and the stores."""
    sheet = Sheet()
    sheet.fact("gravity_then", "specific gravity when measured", scientific(start), "1")
    lost = 0.0
    for number, (days, store) in enumerate(stood, 1):
        loss = loss_a_day(store)
        lost += days * loss
        sheet.fact(f"days_{number}", f"days in {store.name}", int(days), "days")
        sheet.fact(
            f"loss_{number}", "mean loss of gravity there", scientific(loss), "1/day",
            f"TM 9-6140-200-14, 4-8c; {store.source}",
        )  # fmt: skip
    terms = " + ".join(f"days_{number} × loss_{number}" for number, _ in enumerate(stood, 1))
    sheet.result("lost", "lost by an average battery", terms or "0", scientific(lost), "1")
    sheet.fact("recharge_at", "charge it at", scientific(RECHARGE_GRAVITY), "1",
               "TM 5-3820-256-24-4")  # fmt: skip
    slow, usual, quick = RATE_BAND
    for name, share, gravity in (
        ("low", quick, left.low), ("central", usual, left.central), ("high", slow, left.high)
    ):  # fmt: skip
        _charge_lines(sheet, name, share, float(gravity))
    return sheet.lines


def _charge_lines(sheet: Sheet, name: str, share: float, gravity: float) -> None:
    empty = SPECIFIC_GRAVITY[0]
    sheet.result(
        f"gravity_{name}", f"gravity left at {share:g} times the loss",
        f"latest({empty:g}, gravity_then − {share:g} × lost)", scientific(gravity), "1",
    )  # fmt: skip
    place = min(max(int((SPECIFIC_GRAVITY <= gravity).sum()) - 1, 0), CHARGE.size - 2)
    (low_g, high_g), (low_c, high_c) = (
        SPECIFIC_GRAVITY[place : place + 2], CHARGE[place : place + 2]
    )  # fmt: skip
    sheet.result(
        f"charge_{name}", "charge, between two rows of the trade's table",
        f"{low_c:g} + earliest(gravity_{name} − {low_g:g}, {high_g:g} − {low_g:g}) × "
        f"{high_c - low_c:g} ÷ ({high_g:g} − {low_g:g})",
        scientific(float(gravity_to_charge(gravity))), "%",
    )  # fmt: skip
