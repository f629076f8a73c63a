"""Text in the cells of a workbook, where XML can't hold every character.

ISO/IEC 29500-1, section 22.4.2.4 (ST_Xstring): `_x000D_` stands for the character of that number,
and the underscore of a text that looks like it is written as `_x005F_`.
"""

import re
from typing import Final

_BARRED: Final = "\x00-\x08\x0b-\x1f\ufffe\uffff"
# What is barred begins with an underscore once it is written.
_UNWRITABLE: Final = re.compile(f"[{_BARRED}]|_(?=x[0-9A-Fa-f]{{4}}[_{_BARRED}])")
_WRITTEN: Final = re.compile(r"_x([0-9A-Fa-f]{4})_")


def escaped(text: str) -> str:
    """Return a text as a workbook holds it."""
    return _UNWRITABLE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def unescaped(text: str) -> str:
    """Return the text that a workbook's cell stands for."""
    return _WRITTEN.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text
