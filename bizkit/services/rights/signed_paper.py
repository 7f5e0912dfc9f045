"""What is typed in about a paper: what it allows, who signed it and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from bizkit.domain.contact_data import contact_data
from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.rights.age import is_minor
from bizkit.domain.rights.holding import Signer, read_scope
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a paper allows. Where media or where is empty, what the studio's own form asks for.

    starts, until: first and last day (inclusive); None for the first day that is assumed, and for no end. months:
    a length instead of until. terms: a TOML file with several parts, in place of everything else.
    """

    media: tuple[str, ...] = ()
    where: tuple[str, ...] = ()
    starts: date | None = None
    until: date | None = None
    months: int | None = None
    terms: Path | None = None

    def scope(self, first_day: date, form: Scope | None, tree: MediaTree) -> Scope:
        """From `first_day` where no start is said; media and countries of `form` where none are.

        form: what the studio's own paper asks for, None for a paper of somebody else's. Raises BadInput or NotFound
        naming the option or the field.
        """
        if self.terms is not None:
            from bizkit.services.studio.toml_file import read_toml

            if self.media or self.where or self.starts or self.until or self.months:
                raise BadInput(wanted="either --terms or the options it stands for", got="both", field="--terms")
            fields = read_toml(self.terms, "what the paper allows").fields
            scope = read_scope(fields, tree, first_day)
            fields.done()
            return scope
        starts = self.starts or first_day
        end = self.until or OPEN_END
        if self.months is not None:
            if self.until is not None:
                raise BadInput(wanted="either --until or --months", got="both", field="--until")
            end = Term.months_from(starts, self.months).end
        if end < starts:
            raise BadInput(wanted=f"a last day on or after {starts}", got=end, field="--until")
        for said, option, what in ((self.media, "--media", "media"), (self.where, "--where", "countries")):
            if not said and form is None:
                raise BadInput(wanted=f"the {what} that the paper allows", got="nothing", field=option)
        media = tree.read(self.media, field="--media") if self.media or form is None else form.media
        if self.where or form is None:
            codes = Territory.read(self.where, (), field="--where").codes
        else:
            codes = form.countries
        return Scope.box(media, codes, Term(starts, end))


@dataclass(frozen=True, slots=True)
class Signed:
    """A signed paper.

    on: day of signature. scan: the file that shows it. by: who signed, where it is not the person it is about.
    born: date of birth, needed only to tell who is under 18; under_18: said without one. conditions: what the studio
    must keep to. client_conditions: what the client keeps to as well. witness: who saw it signed. how: "scan" of a
    paper, or "drawn" on screen.
    """

    on: date
    scan: Path
    by: str = ""
    guardian: str = ""
    born: date | None = None
    under_18: bool = False
    allows: Allowed = field(default_factory=Allowed)
    conditions: tuple[str, ...] = ()
    client_conditions: tuple[str, ...] = ()
    witness: str = ""
    how: str = "scan"

    @property
    def minor(self) -> bool:
        """Whether the person was under 18 on the day of signature. Raises BadInput when born after it."""
        return self.under_18 or bool(self.guardian) or (self.born is not None and is_minor(self.born, self.on))

    def check(self, on: date) -> None:
        """Refuse a signature to come, and somebody under 18 without a guardian. Raises RuleBroken."""
        if self.minor and not self.guardian:
            born = f"born {self.born}, so " if self.born else ""
            raise RuleBroken(
                f"{born}under 18 when it was signed: a parent or guardian signs; name them with --guardian"
            )
        for condition in self.client_conditions:
            check_passed_on(condition)
        if self.on > on:
            raise RuleBroken(f"signed on {self.on}, which is after {on}: a paper is filed once it is signed")

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


def read_allowed(
    *,
    media: Sequence[str] | None = None,
    where: Sequence[str] | None = None,
    starts: str = "",
    until: str = "",
    months: int | None = None,
    terms: Path | None = None,
) -> Allowed:
    """From what was typed. Raises BadInput for a wrong date."""
    if months is not None and not 1 <= months <= 1200:
        raise BadInput(wanted="a number of months 1..1200", got=months, field="--months")
    return Allowed(
        tuple(media or ()), tuple(where or ()), _day(starts, "--from"), _day(until, "--until"), months, terms
    )


def read_signed(
    *,
    signed: str,
    scan: Path | None,
    allows: Allowed,
    by: str = "",
    guardian: str = "",
    born: str = "",
    under_18: bool = False,
    conditions: Sequence[str] | None = None,
    client_conditions: Sequence[str] | None = None,
    witness: str = "",
) -> Signed | None:
    """A signed paper from what was typed; None when neither signature nor scan is given. Raises BadInput."""
    if not signed and scan is None:
        return None
    if not signed:
        raise BadInput(wanted="the day of signature", got="nothing", field="--signed")
    if scan is None:
        raise BadInput(wanted="the signed paper as a file", got="nothing", field="--scan")
    return Signed(
        on=iso_date(signed, field="--signed"),
        scan=scan,
        by=by,
        guardian=guardian,
        born=_day(born, "--born"),
        under_18=under_18,
        allows=allows,
        conditions=tuple(conditions or ()),
        client_conditions=tuple(client_conditions or ()),
        witness=witness,
    )


def _day(text: str, field: str) -> date | None:
    return iso_date(text, field=field) if text else None
