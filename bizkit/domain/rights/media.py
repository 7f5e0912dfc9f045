"""Media as a tree: a grant of a branch is a grant of the leaves it has on the day of the grant, frozen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated

from bizkit.domain.errors import BadInput, NotFound, suggest
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.tables.media import MEDIA


@dataclass(frozen=True, slots=True)
class OwnMedium:
    """A medium of the studio's own: a `[media.NAME]` table of its settings."""

    meaning: Annotated[str, Key("What use it is, as a licence explains it.")]
    label: Annotated[str, Key("What papers call it; without it its name.")] = ""
    under: Annotated[str, Key("The branch of bizkit's media it lies under.", example="public_places")] = "all"

    def data(self) -> dict[str, str]:
        """As a quote keeps it."""
        return {"meaning": self.meaning, "label": self.label, "under": self.under}


@dataclass(frozen=True, slots=True)
class Medium:
    """One row of the tree. `under` is the code of the branch it lies under, empty at the top."""

    code: str
    under: str
    label: str
    meaning: str


class MediaTree:
    """The media a studio deals in.

    >>> sorted(MEDIA_TREE.leaves("online"))
    ['owned_channels', 'paid_online', 'paid_social']
    >>> MEDIA_TREE.read(["paid socail"], field="licence.media")
    Traceback (most recent call last):
    bizkit.domain.errors.NotFound: licence.media: wanted a known medium, got paid socail. Did you mean paid_social?
    """

    __slots__ = ("_by_code", "_leaves", "_order")

    def __init__(self, media: Iterable[Medium]) -> None:
        self._by_code = {medium.code: medium for medium in media}
        branches = {medium.under for medium in self._by_code.values()}
        leaves: dict[str, set[str]] = {code: set() for code in self._by_code}
        for code in self._by_code:
            if code in branches:
                continue
            above = code
            while above:
                leaves[above].add(code)
                above = self._by_code[above].under
        self._leaves = {code: frozenset(below) for code, below in leaves.items()}
        self._order = {code: place for place, code in enumerate(self._walk(""))}

    def _walk(self, under: str) -> Iterable[str]:
        for medium in self._by_code.values():
            if medium.under == under:
                yield medium.code
                yield from self._walk(medium.code)

    def __iter__(self) -> Iterator[Medium]:
        """Media from the top down, each branch followed by what lies under it."""
        return iter(self._by_code[code] for code in self._order)

    def __contains__(self, code: object) -> bool:
        return code in self._by_code

    def medium(self, code: str) -> Medium:
        """The row of `code`. Raises NotFound."""
        if code not in self._by_code:
            raise NotFound("medium", code, self._by_code)
        return self._by_code[code]

    def leaves(self, code: str) -> frozenset[str]:
        """The leaves at or under `code`. Raises NotFound."""
        return self._leaves[self.medium(code).code]

    def read(self, names: Iterable[str], *, field: str = "media", where: str = "") -> frozenset[str]:
        """The leaves named by codes or labels, branches spread out. Raises NotFound, BadInput when there are none."""
        labels = {medium.label: medium.code for medium in self._by_code.values()}
        found: set[str] = set()
        for name in names:
            plain = " ".join(name.lower().split())
            code = labels.get(plain, plain.replace(" ", "_").replace("-", "_"))
            if code not in self._by_code:
                raise NotFound("medium", name, self._by_code, field=field, where=where)
            found |= self._leaves[code]
        if not found:
            raise BadInput(wanted="one medium or more", got="none", field=field, where=where)
        return frozenset(found)

    def sorted(self, codes: Iterable[str]) -> list[str]:
        """Codes in the order of the tree; unknown ones (of a tree that has changed since) last, by name."""
        return sorted(codes, key=lambda code: (self._order.get(code, len(self._order)), code))

    def whole(self, codes: Iterable[str]) -> list[str]:
        """The fewest codes for a set of leaves, whole branches by the branch; `read` gives the set back."""
        left = set(codes)
        found: list[str] = []
        for code in self._order:
            below = self._leaves[code]
            if below and below <= left:
                found.append(code)
                left -= below
        return found + sorted(left)

    def labels(self, codes: Iterable[str]) -> list[str]:
        """What to call a set of leaves, whole branches by the name of the branch.

        >>> MEDIA_TREE.labels({"owned_channels", "paid_social", "paid_online", "cinema"})
        ['online', 'cinema']
        """
        return [self._by_code[code].label if code in self._by_code else code for code in self.whole(codes)]

    def with_own(self, own: Mapping[str, OwnMedium]) -> MediaTree:
        """This tree with a studio's own media by their names.

        A new medium becomes part of the branch for grants from now on; grants already made name their leaves.
        """
        if not own:
            return self
        more = [
            Medium(code, one.under, one.label or code.replace("_", " "), one.meaning) for code, one in own.items()
        ]
        return MediaTree((*self._by_code.values(), *more))

    def with_gone(self, codes: Iterable[str]) -> MediaTree:
        """This tree with media of the studio's own that were sold once and that it does not know any more."""
        gone = sorted({code for code in codes if code not in self._by_code})
        return self.with_own({code: OwnMedium(meaning="one of the studio's own, by its name") for code in gone})

    @property
    def branches(self) -> list[str]:
        """Codes that have others under them, sorted."""
        return sorted({medium.under for medium in self._by_code.values() if medium.under})


#: The tree as shipped.
MEDIA_TREE = MediaTree(Medium(*row) for row in MEDIA)


def check_own_media(own: Mapping[str, OwnMedium], at: Table) -> None:
    """Report own media that have a name of ours, or lie under no branch of ours."""
    branches = MEDIA_TREE.branches
    for code, one in own.items():
        if code in MEDIA_TREE:
            at.problem(f"media.{code}", "a new name for your own medium", code, "This name is taken")
        if one.under not in branches:
            wanted = f"one of {', '.join(branches)}"
            at.problem(f"media.{code}.under", wanted, one.under, suggest(one.under, branches))
