"""What is typed in about a paper: what it allows, who signed it and when."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Final

from bizkit.domain.contact_data import contact_data
from bizkit.domain.dated_ahead import check_not_before
from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput
from bizkit.domain.rights.holding import Signer
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.paper_file import read_paper
from bizkit.domain.rights.paper_terms import PARTS, PaperTerms
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.domain.rights.territory import Territory

#: Part of the terms, or member of them -> the options that say it.
OPTIONS: Final[dict[str, str]] = {
    "media": "--media",
    "countries": "--where",
    "length": "--until, --months or --without-end",
    "until": "--until",
    "months": "--months",
}


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a paper allows, as typed. What is not typed is unsaid: the paper holds nothing of it.

    starts, until: first and last day (inclusive); starts None for the day of signature. months, without_end: a length
    instead of until. terms: a TOML file with several parts, in place of everything else. form: the number of our own
    form that was signed; it brings what it printed. any_client: it may be licensed to others than the job's client.
    """

    media: tuple[str, ...] = ()
    where: tuple[str, ...] = ()
    starts: date | None = None
    until: date | None = None
    months: int | None = None
    without_end: bool = False
    terms: Path | None = None
    form: str = ""
    any_client: bool = False

    def read(self, tree: MediaTree) -> PaperTerms:
        """What the options say. Raises BadInput or NotFound naming the option."""
        if (self.until is not None) + (self.months is not None) + self.without_end > 1:
            wanted = "either --until or --months, or --without-end"
            raise BadInput(wanted=wanted, got="more than one", field="--until")
        media = tree.read(self.media, field="--media") if self.media else frozenset()
        countries = Territory.read(self.where, (), field="--where") if self.where else None
        with named_options():
            return PaperTerms(media, countries, self.starts, self.until, self.months, self.without_end)

    def from_file(self, tree: MediaTree, signed_on: date) -> tuple[PaperTerms, ...]:
        """What the file of `terms` says, part by part. Raises BadInput, also where options say more."""
        from bizkit.services.studio.file_kind import read_as
        from bizkit.services.studio.toml_file import read_toml

        assert self.terms is not None
        if self.form or not self.read(tree).says_nothing:
            raise BadInput(wanted="either --terms or the options it stands for", got="both", field="--terms")
        file = read_toml(self.terms, "what the paper allows")
        with read_as("paper", file):
            return read_paper(file.tree, media=tree, first_day=signed_on, where=file.name)


@contextmanager
def named_options() -> Iterator[None]:
    """Inside it, a BadInput about a part of the terms names the option that says it."""
    try:
        yield
    except BadInput as error:
        option = OPTIONS.get(error.field, error.field)
        raise BadInput(wanted=error.wanted, got=error.got, field=option, hint=error.hint) from None


def said_whole(terms: PaperTerms, signed_on: date, *, hint: str = "") -> tuple[PaperTerms, ...]:
    """Terms that leave nothing open, as the one part of a paper signed on that day.

    Raises BadInput naming the option that would say the rest.
    """
    first = terms.starts or signed_on
    if terms.until is not None and terms.until < first:
        raise BadInput(wanted=f"a last day on or after {first}", got=terms.until, field="--until")
    for part in terms.unsaid:
        raise BadInput(wanted=PARTS[part], got="nothing", field=OPTIONS[part], hint=hint)
    with named_options():
        terms.scope(signed_on)
    return (terms,)


@dataclass(frozen=True, slots=True)
class Signed:
    """A signed paper.

    on: day of signature. scan: the file that shows it. by: who signed, where it is not the person it is about.
    born: date of birth of the person; under_18: said without one. guardian_born: of the guardian. conditions: what
    the studio must keep to. client_conditions: what the client keeps to as well. witness: who saw it signed. how:
    "scan" of a paper, or "drawn" on screen.
    """

    on: date
    scan: Path
    by: str = ""
    guardian: str = ""
    born: date | None = None
    under_18: bool = False
    guardian_born: date | None = None
    allows: Allowed = field(default_factory=Allowed)
    conditions: tuple[str, ...] = ()
    client_conditions: tuple[str, ...] = ()
    witness: str = ""
    how: str = "scan"

    @property
    def minor(self) -> bool:
        """Whether the person was said to be under 18; their date of birth decides where it is known."""
        return self.under_18 or bool(self.guardian)

    def check(self, on: date) -> None:
        """Refuse a signature to come (RuleBroken), one before birth, contact data for the client (BadInput)."""
        if self.born is not None and self.born > self.on:
            raise BadInput(wanted=f"a date of birth on or before {self.on}", got=self.born, field="--born")
        for condition in self.client_conditions:
            check_passed_on(condition)
        check_not_before(self.on, on, field="--signed", why="a paper is filed once it is signed")

    def signers(self, kind: str, name: str) -> tuple[Signer, ...]:
        """Who put their name to a paper of `kind` about `name`."""
        if self.guardian:
            return (Signer(self.guardian.strip(), "guardian"),)
        role = "owner"
        if kind in PERSON_KINDS:
            role = "agent" if self.by and self.by.strip() != name else "self"
        return (Signer((self.by or name).strip(), role),)


def check_passed_on(condition: str) -> None:
    """Refuse contact data in what is passed on to the client. Raises BadInput."""
    found = contact_data(condition)
    if found:
        raise BadInput(
            wanted="a condition for the client without a telephone number or an address in it",
            got=found[0],
            field="--client-condition",
            hint="What you must do for somebody stays inside: --condition",
        )


def day_or_none(text: str, field: str) -> date | None:
    """A date as typed; None where nothing is. Raises BadInput naming the option."""
    return iso_date(text, field=field) if text else None
