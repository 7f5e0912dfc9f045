"""Whether a scan opens: what begins as a picture or PDF and holds none is evidence of nothing."""

from __future__ import annotations

import io
import re
import warnings
from typing import Final

from bizkit.domain.errors import BadInput

WANTED: Final = "a scan (PDF, PNG or JPEG)"
#: A scanned page holds fewer: A3 at 600 dots per inch has some 70 million.
MOST_PIXELS: Final = 150_000_000


def check_scan(content: bytes, where: str) -> None:
    """Refuse what is no PDF, PNG or JPEG, or is one that does not open. where: its name, for messages.

    A PDF has a table of where its objects are and ends as such (ISO 32000-1 section 7.5.5, from memory); a picture is
    decoded to its last line. Raises BadInput.
    """
    if content.startswith(b"%PDF-"):
        # A reader begins at the end; zeros that a copy padded it with are no damage.
        if not re.search(rb"startxref\s+\d+\s+%%EOF", content.rstrip(b"\0")[-4096:]):
            raise BadInput(wanted=WANTED, got="a PDF that is cut off or damaged", where=where, hint=_AGAIN)
    elif content.startswith((b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")):
        check_picture(content, where)
    else:
        raise BadInput(wanted=WANTED, got="another kind of file", where=where)


_AGAIN: Final = "Open it to see, then scan or copy it again"


def check_picture(content: bytes, where: str, *, wanted: str = WANTED, field: str = "", hint: str = _AGAIN) -> None:
    """Refuse a PNG or JPEG that cannot be decoded to its last line, or is far larger than a page. Raises BadInput."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as picture:
                width, height = picture.size
                if not 0 < width * height <= MOST_PIXELS:
                    got = f"a picture of {width} x {height}"
                    raise BadInput(wanted=wanted, got=got, field=field, where=where, hint=hint)
                picture.load()
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        got = "a picture that is cut off or damaged"
        raise BadInput(wanted=wanted, got=got, field=field, where=where, hint=hint) from None
