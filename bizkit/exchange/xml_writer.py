"""Writing XML with prefixed names, on the standard library alone."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping

#: Characters XML 1.0 cannot carry at all, not even escaped (section 2.2).
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Writer:
    """Builds a tree under one set of prefixes. Empty text writes no element: electronic invoices allow none."""

    def __init__(self, prefixes: Mapping[str, str]) -> None:
        self._prefixes = dict(prefixes)
        for prefix, uri in prefixes.items():
            ET.register_namespace(prefix, uri)

    def _name(self, prefixed: str) -> str:
        prefix, colon, local = prefixed.partition(":")
        return f"{{{self._prefixes[prefix]}}}{local}" if colon else f"{{{self._prefixes['']}}}{prefix}"

    def root(self, name: str) -> ET.Element:
        """The document's element."""
        return ET.Element(self._name(name))

    def group(self, parent: ET.Element, *path: str) -> ET.Element:
        """A new element, or a chain of them; the innermost is returned."""
        for name in path:
            parent = ET.SubElement(parent, self._name(name))
        return parent

    def text(self, parent: ET.Element, path: str, text: str | None, **attributes: str) -> None:
        """An element with text, under new parents where `path` has slashes; none for empty text."""
        clean = printable(text or "")
        if not clean:
            return
        *parents, last = path.split("/")
        node = ET.SubElement(self.group(parent, *parents), self._name(last), attributes)
        node.text = clean

    def mark(self, node: ET.Element, name: str, value: str) -> None:
        """An attribute with a prefixed name."""
        node.set(self._name(name), printable(value))


def printable(text: str) -> str:
    """`text` without the characters XML cannot carry, trimmed."""
    return _FORBIDDEN.sub("", text).strip()


def drop_empty(node: ET.Element) -> None:
    """Take out elements that hold nothing at all."""
    for child in list(node):
        drop_empty(child)
        if len(child) == 0 and not (child.text or "").strip() and not child.attrib:
            node.remove(child)


def serialized(root: ET.Element) -> bytes:
    """UTF-8 with declaration, indented by two spaces."""
    ET.indent(root)
    data: bytes = ET.tostring(root, encoding="UTF-8", xml_declaration=True)
    return data
