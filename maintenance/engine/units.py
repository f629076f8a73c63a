"""Exact constants, each with its source."""

from typing import Final

TENTH_MM_PER_KM: Final = 10_000_000
"""Tenths of a millimetre in a kilometre: the engine's unit of distance."""

TENTH_MM_PER_MILE: Final = 16_093_440
"""1 mi = 1.609344 km exactly (international yard and pound agreement of 1 July 1959)."""

MEAN_MONTH_DAYS: Final = (48_699, 1_600)
"""Mean Gregorian month as an exact fraction, 30.436875 days = 146 097 days / 4 800 months."""

MEAN_YEAR_DAYS: Final = (1_461, 4)
"""The Julian year of 365.25 days, used for a yearly distance spread over days."""

HUNDREDTHS: Final = 100
"""Factors have two decimals at most, so aged days are whole hundredths."""
