"""What a file attached to a record really is, and the form in which it is kept."""

import io
from typing import Final, NamedTuple

from PIL import Image, ImageOps, UnidentifiedImageError

from maintenance.services.refusals import Problem, Refused

PDF: Final = "application/pdf"
_PDF_BEGINS: Final = b"%PDF-"
#: Kept as what they are. Other pictures, among them those that can hold a script, are refused.
_PICTURES: Final = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
MEDIA_TYPES: Final = (PDF, *_PICTURES.values())
#: More than any camera takes; a small file may claim a picture that fills the memory.
MOST_PIXELS: Final = 60_000_000


class Kept(NamedTuple):
    """The bytes to keep, and what they are."""

    content: bytes
    media_type: str


def as_kept(content: bytes, *, limit: int) -> Kept:
    """Return a file as it is kept: a PDF as it came, a picture drawn anew from its pixels.

    What a picture carries beside its pixels (place, time, camera, comments, anything put behind
    its end) is not kept; one that a camera marked as turned is turned. `limit` is the largest
    file taken [bytes]. The type is told by the content alone, whatever the file is called.
    Refused: an empty or too large file, another type, and a picture that can't be read; the file
    is all that is sent, so no pointer leads into it.
    """
    if not content:
        raise Refused([Problem("", "the file is empty; send one that is not")])
    if len(content) > limit:
        most = f"{limit // 1024} KiB"
        text = f"the file is larger than {most}; scan it at a lower resolution"
        raise Refused([Problem("", text)])
    if content.startswith(_PDF_BEGINS):
        return Kept(content, PDF)
    try:
        return _picture(content)
    except UnidentifiedImageError:
        text = "the file is neither a PDF nor a JPEG, PNG or WebP picture; save it as one of these"
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as broken:
        text = f"the file is a picture that can't be read ({broken}); save it anew"
    raise Refused([Problem("", text)])


def _picture(content: bytes) -> Kept:
    with Image.open(io.BytesIO(content), formats=tuple(_PICTURES)) as opened:
        form = opened.format or ""
        if opened.width * opened.height > MOST_PIXELS:
            raise ValueError(f"it has more than {MOST_PIXELS // 1_000_000} million pixels")
        upright = ImageOps.exif_transpose(opened)
        mode = "RGB" if form == "JPEG" or not upright.has_transparency_data else "RGBA"
        drawn = Image.new(mode, upright.size)
        drawn.paste(upright.convert(mode))
    out = io.BytesIO()
    drawn.save(out, form, quality=90)
    return Kept(out.getvalue(), _PICTURES[form])
