"""The check digit of a vehicle identification number. It can warn, never refuse."""

from typing import Final

_LENGTH: Final = 17
_CHECK_PLACE: Final = 8
_FIRST_YEAR: Final = 1981
_WEIGHTS: Final = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_VALUES: Final = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}


def weighted_sum(vin: str) -> int:
    """Return the weighted sum of a 17-character identification number.

    Parameters
    ----------
    vin : str
        17 capital letters and digits, without I, O and Q.

    Returns
    -------
    int
        Sum of each character's value times its place's weight [1].

    Raises
    ------
    ValueError
        For another length or another character.

    References
    ----------
    .. [1] 49 CFR 565.15(c), tables of values and of weights.
    """
    if len(vin) != _LENGTH:
        raise ValueError(f"{vin!r} has {len(vin)} characters, not {_LENGTH}")
    for character in vin:
        if character not in _VALUES:
            raise ValueError(f"{vin!r} has {character!r}, which no such number may have")
    return sum(_VALUES[character] * weight for character, weight in zip(vin, _WEIGHTS, strict=True))


def check_digit(vin: str) -> str:
    """Return the check digit that a 17-character identification number should have.

    Parameters
    ----------
    vin : str
        17 capital letters and digits; what stands in the ninth place is not looked at.

    Returns
    -------
    str
        `0` to `9`, or `X` for ten.

    Raises
    ------
    ValueError
        For another length or another character.

    References
    ----------
    .. [1] 49 CFR 565.15(c): the weighted sum modulo 11, ten written as X.
    """
    remainder = weighted_sum(vin) % 11
    return "X" if remainder == 10 else str(remainder)


def check_digit_warning(chassis_number: str, *, year: int | None) -> str | None:
    """Say what is odd about a chassis number, if it is of the kind that has a check digit.

    Parameters
    ----------
    chassis_number : str
        As given by the keeper.
    year : int, optional
        Year the car was built or first registered, if known.

    Returns
    -------
    str or None
        A warning, or None where the digit agrees or no rule applies.

    Notes
    -----
    The rule binds cars for the North American market made from 1981 on; elsewhere the ninth
    place may hold anything. Numbers of another length and earlier cars are therefore left alone.

    References
    ----------
    .. [1] 49 CFR 565.15(c).
    """
    vin = chassis_number.strip().upper()
    if len(vin) != _LENGTH or (year is not None and year < _FIRST_YEAR):
        return None
    try:
        expected = check_digit(vin)
    except ValueError as refusal:
        return f"{refusal}; read it again from the car"
    if vin[_CHECK_PLACE] == expected:
        return None
    return (
        f"the ninth place of {vin} is {vin[_CHECK_PLACE]!r}, its check digit would be "
        f"{expected!r}; that binds only cars for North America, so this is no more than a hint "
        "to read the number again"
    )
