"""reportlab's TrueType font with what its version 5.1 lacks: text beyond U+FFFF that can be read back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.pdfbase.ttfonts import SUBSETN, TTFont

#: At most this many entries stand in one block of a character map (PDF 32000-1:2008, 9.10.3, by Adobe's CMap rules).
_BLOCK = 100


class EmbeddedFont(TTFont):
    """A font embedded as subsets, each with a character map from its codes to Unicode."""

    def addObjects(self, doc: Any) -> None:
        """Adds the subsets to `doc`. Called by reportlab when the file is written."""
        subsets = [list(subset) for subset in self.state[doc].subsets]
        super().addObjects(doc)
        name = self.face.name + self.face.subfontNameX
        for number, subset in enumerate(subsets):
            base = (SUBSETN(number) + b"+" + name).decode("pdfdoc")
            doc.idToObject[f"toUnicodeCMap:{base}"].content = "\n".join(_character_map(base, subset))


def _character_map(name: str, subset: Sequence[int]) -> Iterator[str]:
    """A ToUnicode map (PDF 32000-1:2008, 9.10.3): code points beyond U+FFFF as a pair of UTF-16 units."""
    yield from ("/CIDInit /ProcSet findresource begin", "12 dict begin", "begincmap")
    yield f"/CIDSystemInfo << /Registry ({name}) /Ordering ({name}) /Supplement 0 >> def"
    yield from (f"/CMapName /{name} def", "/CMapType 2 def")
    yield from ("1 begincodespacerange", f"<00> <{len(subset) - 1:02X}>", "endcodespacerange")
    entries = [f"<{code:02X}> <{chr(point).encode('utf-16-be').hex().upper()}>" for code, point in enumerate(subset)]
    for start in range(0, len(entries), _BLOCK):
        block = entries[start : start + _BLOCK]
        yield from (f"{len(block)} beginbfchar", *block, "endbfchar")
    yield from ("endcmap", "CMapName currentdict /CMap defineresource pop", "end", "end")
