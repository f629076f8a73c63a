"""Money between the records, in units with two decimals, and the planner, in whole minor units."""

from decimal import Decimal


def minor(amount: Decimal | None) -> int:
    """Return an amount in minor units; nothing is nought."""
    return 0 if amount is None else int((amount * 100).to_integral_value())


def major(amount: int | float) -> Decimal:
    """Return minor units as an amount with two decimals."""
    return (Decimal(round(amount)) / 100).quantize(Decimal("0.01"))


def shown(amount: Decimal | int | float, currency: str) -> str:
    """Return an amount as it is written for people."""
    return f"{amount:,.2f} {currency}".rstrip()
