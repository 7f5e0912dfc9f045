"""What a signed paper allows, as a file says it: one part, or several as `[[scope]]`.

    [[scope]]
    media = ["online"]
    territory = ["Europe"]
    months = 12

Common practice; no published form is followed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table, read_made
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.paper_terms import PaperTerms
from bizkit.domain.rights.territory import Territory


@dataclass(frozen=True, slots=True)
class PaperPart:
    """One part of what a paper allows."""

    media: Annotated[tuple[str, ...], Key("Media or branches of them.", example=["online"])] = ()
    territory: Annotated[tuple[str, ...], Key("Where, in words or codes.", example=["United Kingdom"])] = ()
    excepted: Annotated[tuple[str, ...], Key("Less these.", name="except")] = ()
    starts: Annotated[date | None, Key("Its first day; without it the day of signature.")] = None
    months: Annotated[int | None, Key("How long; or until, or open_end.", "months", least=1, most=1200)] = None
    until: Annotated[date | None, Key("Its last day, in place of months.")] = None
    open_end: Annotated[bool | None, Key("No end, in place of months.")] = None

    def terms(self, at: Table, tree: MediaTree, first_day: date | None, within: str = "") -> PaperTerms | None:
        """What it allows of a paper signed on `first_day`; reports what cannot be under the names of `within`."""
        before = len(at.problems)
        leaves: frozenset[str] = frozenset()
        territory: Territory | None = None
        for key, given in (("media", self.media), ("territory", self.territory)):
            if not given:
                at.problem(f"{within}{key}", "a list of texts", "nothing", f"Add {key} to the file")
        try:
            leaves = tree.read(self.media) if self.media else leaves
        except BadInput as error:
            at.problem(f"{within}media", error.wanted, error.got, error.hint)
        try:
            territory = Territory.read(self.territory, self.excepted) if self.territory else None
        except BadInput as error:
            at.problem(f"{within}territory", error.wanted, error.got, error.hint)
        first = self.starts or first_day
        if first is None:
            at.problem(f"{within}starts", "the first day it allows anything", "nothing")
        lengths = {"months": self.months, "until": self.until, "open_end": self.open_end}
        said = [key for key, value in lengths.items() if value is not None]
        if len(said) != 1:
            wanted = "one of months, until or open_end = true"
            at.problem(f"{within}months", wanted, ", ".join(said) or "none of them")
        elif self.open_end is False:
            at.problem(f"{within}open_end", "true, or months or until instead", "false")
        if self.until is not None and first is not None and self.until < first:
            at.problem(f"{within}until", f"a day on or after {first}", self.until)
        if len(at.problems) > before:
            return None
        return PaperTerms(leaves, territory, self.starts, self.until, self.months, bool(self.open_end))


@dataclass(frozen=True, slots=True)
class PaperFile(PaperPart):
    """A file of what a paper allows: the keys of one part, or parts of their own."""

    scope: Annotated[tuple[PaperPart, ...], Key("Its parts, where it allows several things.")] = ()

    def parts(self, at: Table, tree: MediaTree, first_day: date | None) -> tuple[PaperTerms, ...] | None:
        """What it allows, part by part; None where something is wrong, which is reported."""
        if not self.scope:
            found = [PaperPart.terms(self, at, tree, first_day)]
        else:
            for key in ("media", "territory", "except", "starts", "months", "until", "open_end"):
                if at.says(key):
                    at.problem(key, "it inside each [[scope]]", "it beside them")
            numbered = enumerate(self.scope, start=1)
            found = [part.terms(at, tree, first_day, f"scope[{number}].") for number, part in numbered]
        whole = tuple(part for part in found if part is not None)
        return whole if len(whole) == len(found) else None


def read_paper(
    tree: Mapping[str, Any], *, media: MediaTree = MEDIA_TREE, first_day: date | None = None, where: str = ""
) -> tuple[PaperTerms, ...]:
    """The terms of a paper signed on `first_day`, part by part. Raises Problems, all there are."""
    return read_made(PaperFile, lambda file, at: file.parts(at, media, first_day), tree, where=where)
