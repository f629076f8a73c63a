"""What is measured on a component, in which unit, and between which values it can be true."""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.catalogue.rows import NO_OTHER_KEYS, Number


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A measured quantity with its unit and the range in which a reading is believed.

    Parameters
    ----------
    slug : str
        Name in files and over the API, such as ``tread_depth``.
    name : str
        Name in plain English.
    unit : str
        The one unit in which it is recorded, such as ``mm``.
    minimum, maximum : Decimal
        Least and greatest believable reading, in ``unit``.
    below, above : str
        What a reading beyond the range is less or more than, for the text of a refusal, such as
        "the 8 mm of a new tyre".
    source : str
        Where the range comes from.

    Notes
    -----
    The range tells a slip of the pen from a reading. It is no limit of wear.

    References
    ----------
    .. [1] Common practice, unless the row says otherwise.
    """

    __pydantic_config__ = NO_OTHER_KEYS

    slug: str
    name: str
    unit: str
    minimum: Number
    maximum: Number
    below: str
    above: str
    source: str

    def refusal(self, value: Decimal) -> str | None:
        """Return why a reading is not believed.

        Parameters
        ----------
        value : Decimal
            The reading, in the quantity's unit.

        Returns
        -------
        str or None
            The refusal with its remedy, or None where the reading is believable.

        References
        ----------
        .. [1] Common practice.
        """
        if not value.is_finite():
            return f"{value} is not a number; give the reading in {self.unit}"
        shown = f"{value:f} {self.unit}"
        if value < self.minimum:
            return f"{shown} is less than {self.below}; check the unit"
        if value > self.maximum:
            return f"{shown} is more than {self.above}; check the unit"
        return None
