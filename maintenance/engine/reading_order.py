"""The order of a car's odometer readings, and which of them cannot both be true."""

import bisect
import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import IntEnum
from itertools import pairwise
from typing import Final

#: A mile in kilometres, exactly (international yard and pound agreement of 1 July 1959).
KM_PER_MILE: Final = Decimal("1.609344")
#: A fall in the reading that would need as much as this is taken for an error, not a roll-over.
MOST_KM_A_YEAR: Final = 100_000
_DAYS_A_YEAR: Final = Decimal("365.25")
#: Further apart than a car can be driven in a day: one of the two was misread (common practice).
_MOST_KM_A_DAY: Final = 3_000


class Instrument(IntEnum):
    """What a reading was taken from; on the day of a change, old comes before new.

    References
    ----------
    .. [1] Common practice.
    """

    PLAIN = 0
    OLD = 1
    NEW = 2


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What an odometer showed on one of some days.

    Parameters
    ----------
    earliest, latest : datetime.date
        First and last day on which it can have been read; equal where the day is known.
    value : Decimal
        The reading [km or mi, as the odometer counts].
    record : str
        Where the reading comes from, in words.
    pointer : str
        JSON pointer to a reading that is not yet recorded; empty for one that is.
    instrument : Instrument
        `OLD` and `NEW` for the two readings of a changed instrument.

    References
    ----------
    .. [1] RFC 6901 for the pointer.
    """

    earliest: datetime.date
    latest: datetime.date
    value: Decimal
    record: str
    pointer: str = ""
    instrument: Instrument = Instrument.PLAIN


@dataclass(frozen=True)
class Odometer:
    """An instrument.

    Parameters
    ----------
    unit : str
        `km` or `mi`.
    digits : int
        Whole digits, without tenths.

    References
    ----------
    .. [1] Common practice.
    """

    unit: str
    digits: int

    @property
    def turn(self) -> int:
        """What a full turn of the last digit adds, in the odometer's unit [km or mi].

        References
        ----------
        .. [1] Common practice.
        """
        return int(10**self.digits)

    def km(self, distance: Decimal) -> Decimal:
        """Return a distance of the odometer in kilometres.

        Parameters
        ----------
        distance : Decimal
            Distance in the odometer's unit [km or mi].

        Returns
        -------
        Decimal
            Distance [km], exactly.

        References
        ----------
        .. [1] International yard and pound agreement of 1 July 1959: 1 mi = 1.609344 km.
        """
        return distance * KM_PER_MILE if self.unit == "mi" else distance


_Key = tuple[datetime.date, int, Decimal]


def contradictions(readings: Iterable[Shown], odometer: Odometer) -> list[tuple[Shown, Shown]]:
    """Return each pair of successive readings that cannot both be true.

    Parameters
    ----------
    readings : iterable of Shown
        All readings of one car, in any order.
    odometer : Odometer
        Its instrument.

    Returns
    -------
    list of tuple of (Shown, Shown)
        The earlier of the two first.

    Notes
    -----
    A reading below its predecessor stands only if the odometer can have passed its last digit at
    under 100 000 km a year, or if the instrument was changed in between. Two readings of one day
    stand up to 3 000 km apart.

    References
    ----------
    .. [1] Common practice.
    """
    return [
        (before, after)
        for before, after in pairwise(placed(readings, odometer))
        if not (_follows(before, after, odometer) or _rolled_over(before, after, odometer))
    ]


def placed(readings: Iterable[Shown], odometer: Odometer) -> list[Shown]:
    """Return the readings of one car in order of time, each on one day.

    Parameters
    ----------
    readings : iterable of Shown
        All readings of one car, in any order.
    odometer : Odometer
        Its instrument.

    Returns
    -------
    list of Shown
        The same readings, `earliest` and `latest` equal.

    Notes
    -----
    A reading of which only the month or year is known goes to the earliest day of its span that
    the others do not contradict, if possible without taking it for a roll-over; the narrower
    span is placed first. Where every day contradicts, it goes to the first.

    References
    ----------
    .. [1] Common practice.
    """
    given = list(readings)
    order = _Order(odometer, [one for one in given if one.earliest == one.latest])
    vague = [one for one in given if one.earliest != one.latest]
    for reading in sorted(
        vague, key=lambda one: (one.latest - one.earliest, one.earliest, one.value)
    ):
        order.place(reading)
    return order.readings


class _Order:
    """Readings of known days, kept in order while vague ones are put among them."""

    def __init__(self, odometer: Odometer, dated: list[Shown]) -> None:
        self._odometer = odometer
        self._changes = {
            (one.earliest, one.instrument): one.value
            for one in dated
            if one.instrument is not Instrument.PLAIN
        }
        self._highest: dict[datetime.date, Decimal] = {}
        for one in dated:
            if self._rank(one) == 0:
                highest = self._highest.get(one.earliest, one.value)
                self._highest[one.earliest] = max(highest, one.value)
        self.readings = sorted(dated, key=self._key)
        self._keys = [self._key(one) for one in self.readings]

    def place(self, reading: Shown) -> None:
        days = sorted(
            {reading.earliest}
            | {
                one.earliest
                for one in self.readings
                if reading.earliest <= one.earliest <= reading.latest
            }
        )
        options = [replace(reading, earliest=day, latest=day) for day in days]
        chosen = next(
            (option for option in options if self._fits(option, roll_over=False)),
            next((option for option in options if self._fits(option, roll_over=True)), options[0]),
        )
        place = bisect.bisect_right(self._keys, self._key(chosen))
        self._keys.insert(place, self._key(chosen))
        self.readings.insert(place, chosen)

    def _fits(self, reading: Shown, *, roll_over: bool) -> bool:
        place = bisect.bisect_right(self._keys, self._key(reading))
        around = [
            *self.readings[max(place - 1, 0) : place],
            reading,
            *self.readings[place : place + 1],
        ]
        return all(
            _follows(before, after, self._odometer)
            or (roll_over and _rolled_over(before, after, self._odometer))
            for before, after in pairwise(around)
        )

    def _key(self, reading: Shown) -> _Key:
        """Order by day, then instrument, then value.

        On the day of a change a plain reading goes with the instrument whose value is nearer. On
        the day on which the last digit is passed the small readings come after the great.
        """
        day, rank, value = reading.earliest, self._rank(reading), reading.value
        if rank == 0 and 2 * (self._highest.get(day, value) - value) > self._odometer.turn:
            value += self._odometer.turn
        return day, rank, value

    def _rank(self, reading: Shown) -> int:
        old = self._changes.get((reading.earliest, Instrument.OLD))
        new = self._changes.get((reading.earliest, Instrument.NEW))
        if reading.instrument is not Instrument.PLAIN or old is None or new is None:
            return int(reading.instrument)
        return 3 if abs(reading.value - old) > abs(reading.value - new) else 0


def _follows(before: Shown, after: Shown, odometer: Odometer) -> bool:
    if after.instrument is Instrument.NEW:
        return True
    if after.value < before.value:
        return False
    same_day = before.earliest == after.earliest
    return not same_day or odometer.km(after.value - before.value) <= _MOST_KM_A_DAY


def _rolled_over(before: Shown, after: Shown, odometer: Odometer) -> bool:
    if after.value >= before.value:
        return False
    travelled = odometer.km(after.value + odometer.turn - before.value)
    days = (after.earliest - before.earliest).days
    if not days:
        return travelled <= _MOST_KM_A_DAY
    return travelled * _DAYS_A_YEAR < MOST_KM_A_YEAR * days
