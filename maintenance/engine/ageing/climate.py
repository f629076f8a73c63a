"""The climate of a store as columns, with the constants of each storage grade.

Every mechanism integrates over the same columns, so a grade is only a short made-up record: twelve
months of a mean and its yearly swing. Nothing here knows a mechanism.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from maintenance.engine.ageing.estimate import BoolArray, FloatArray
from maintenance.engine.days import DayArray


@dataclass(frozen=True)
class GradeConstants:
    """Yearly mean and swing of a storage grade's climate.

    Attributes
    ----------
    mean_c, swing_c : float
        Yearly mean and half the range between January and July [°C].
    humidity, winter_humidity_rise : float
        Yearly mean and how much January lies above it [%RH].
    outdoors : bool
        Whether sun, rain and ozone reach the car.
    source : str
        Where the constants come from.
    """

    mean_c: float
    swing_c: float
    humidity: float
    winter_humidity_rise: float
    outdoors: bool
    source: str


_TEMPERATE = "common practice, for a temperate maritime climate"
GRADE_CONSTANTS = {
    "heated": GradeConstants(16.0, 2.0, 45.0, 0.0, False, _TEMPERATE),
    "dry": GradeConstants(11.0, 6.0, 60.0, 0.0, False, _TEMPERATE),
    "damp": GradeConstants(10.0, 6.0, 90.0, 0.0, False, _TEMPERATE),
    "outdoors": GradeConstants(10.0, 7.0, 80.0, 8.0, True, _TEMPERATE),
}
# An ordinary interval is read as one for a car that rests in a dry unheated garage.
REFERENCE_GRADE = "dry"


@dataclass(frozen=True, eq=False)
class StoreClimate:
    """A store's climate as columns; one row is a spell of days at one temperature and humidity.

    Attributes
    ----------
    name : str
        The grade, or what the keeper calls the record.
    weight_days : ndarray of float
        Days each row stands for [days].
    temperature_c : ndarray of float
        Air temperature [°C].
    humidity : ndarray of float
        Relative humidity [%RH].
    day : ndarray of int
        Day of each row, days since 1970-01-01 [days]; empty for a grade, which is any year.
    outdoors : bool
        Whether sun, rain and ozone reach the car.
    source : str
        Where the figures come from.
    """

    name: str
    weight_days: FloatArray
    temperature_c: FloatArray
    humidity: FloatArray
    day: DayArray
    outdoors: bool
    source: str

    def mean(self, values: FloatArray) -> float:
        """Average a column over the store's days.

        Parameters
        ----------
        values : ndarray
            One value a row, in any unit [caller's].

        Returns
        -------
        float
            Mean weighted by days, in the unit of `values`.

        References
        ----------
        .. [1] The integral over the record divided by its length; common practice.
        """
        return float(np.average(values, weights=self.weight_days))


@cache
def grade_climate(grade: str) -> StoreClimate:
    """Give the made-up year of a storage grade.

    Parameters
    ----------
    grade : str
        ``heated``, ``dry``, ``damp`` or ``outdoors`` [no unit].

    Returns
    -------
    StoreClimate
        Twelve rows, one a month [days], temperature [°C] and humidity [%RH].

    Raises
    ------
    ValueError
        If the grade is not known.

    Notes
    -----
    Valid for a temperate maritime climate, daily swings left out; elsewhere bring a measured
    record.

    References
    ----------
    .. [1] Constants and yearly cosine: common practice.
    """
    constants = GRADE_CONSTANTS.get(grade)
    if constants is None:
        raise ValueError(
            f"storage grade {grade!r} is not known; use one of {', '.join(GRADE_CONSTANTS)}"
        )
    winter = np.cos(2.0 * np.pi * (np.arange(12) + 0.5) / 12.0)  # +1 at New Year, -1 at midsummer
    return StoreClimate(
        name=grade,
        weight_days=np.full(12, 365.25 / 12.0),
        temperature_c=constants.mean_c - constants.swing_c * winter,
        humidity=constants.humidity + constants.winter_humidity_rise * winter,
        day=np.empty(0, dtype=np.int64),
        outdoors=constants.outdoors,
        source=constants.source,
    )


STANDARD_ROOM = StoreClimate(
    name="cool room",
    weight_days=np.array([365.25]),
    temperature_c=np.array([20.0]),  # five kelvins below the limit of ISO 2230 for rubber stores
    humidity=np.array([60.0]),
    day=np.empty(0, dtype=np.int64),
    outdoors=False,
    source="common practice",
)
"""Where the age limits of rubber and coolant are assumed to be lived: 20 °C and 60 %RH."""


def as_climate(store: str | StoreClimate) -> StoreClimate:
    """Accept a grade's slug wherever a climate is wanted.

    Parameters
    ----------
    store : str or StoreClimate
        A storage grade, or a climate [no unit].

    Returns
    -------
    StoreClimate
        The climate, in °C and %RH.

    Raises
    ------
    ValueError
        If a grade is not known.

    References
    ----------
    .. [1] Common practice.
    """
    return store if isinstance(store, StoreClimate) else grade_climate(store)


def is_wet(temperature_c: FloatArray, humidity: FloatArray) -> BoolArray:
    """Say in which rows of a climate steel is wet.

    Parameters
    ----------
    temperature_c : ndarray
        Temperature [°C].
    humidity : ndarray
        Relative humidity [%RH].

    Returns
    -------
    ndarray of bool
        True above 80 %RH and above 0 °C.

    Notes
    -----
    Valid as the standard's own estimate: it leaves out rain and dew below 80 %RH, and deep frost.

    References
    ----------
    .. [1] ISO 9223:2012, Annex B, time of wetness.
    """
    return np.asarray((humidity > 80.0) & (temperature_c > 0.0), dtype=np.bool_)
