"""The nearest known word to one that is not known."""

from collections.abc import Collection
from difflib import get_close_matches

#: Up to this many known words are listed in full when none of them is near.
_FEW = 12


def nearest(word: str, known: Collection[str]) -> str | None:
    """Return the known word that is nearest to the given one.

    Parameters
    ----------
    word : str
        A slug, name or key as somebody wrote it; capitals, blanks, hyphens and underscores are
        not held against it.
    known : collection of str
        The words to choose from.

    Returns
    -------
    str or None
        The nearest known word, or None where none is near.

    Notes
    -----
    Likeness is the ratio of matching characters, from 0.6 up; failing that, the shortest known
    word that has the given one as a part of its own, as "brake-pads" has "pads".

    References
    ----------
    .. [1] Common practice: Python standard library, ``difflib.get_close_matches``.
    """
    plain = {_plain(candidate): candidate for candidate in sorted(known, reverse=True)}
    found = get_close_matches(_plain(word), plain, n=1, cutoff=0.6)
    if found:
        return plain[found[0]]
    holding = [candidate for candidate in plain if _plain(word) in candidate.split()]
    return plain[min(holding, key=len)] if holding else None


def unknown(what: str, word: object, known: Collection[str]) -> str:
    """Return the text of a refusal of an unknown word, with the way out of it.

    Parameters
    ----------
    what : str
        What the word should have named, such as "component kind".
    word : object
        What was written.
    known : collection of str
        The words that would have been accepted.

    Returns
    -------
    str
        The refusal, naming the nearest known word, or all of them where they are few.

    References
    ----------
    .. [1] Common practice.
    """
    near = nearest(str(word), known)
    if near is not None:
        return f"{str(word)!r} is no known {what}; the nearest known word is {near!r}"
    if len(known) <= _FEW:
        return f"{str(word)!r} is no known {what}; use one of {', '.join(sorted(known))}"
    return f"{str(word)!r} is no known {what}, and no known word is near it"


def _plain(word: str) -> str:
    return word.casefold().replace("_", " ").replace("-", " ").strip()
