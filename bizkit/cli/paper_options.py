"""What every command about a paper asks in the same words: what it allows, on what conditions, who signs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from datetime import date

    from bizkit.services.rights.signed_paper import Allowed, Signed

Texts = list[str] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TermOptions:
    """What a paper allows, and on what conditions: of one to be written, signed or filed."""

    media: Annotated[Texts, typer.Option("--media", help="A medium it allows; again for more.")] = None
    where: Annotated[Texts, typer.Option("--where", help="A country or region; again for more.")] = None
    starts: Annotated[
        str, typer.Option("--from", metavar="YYYY-MM-DD", help="First day it allows; the day of signature without.")
    ] = ""
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day it allows.")] = ""
    months: Annotated[int | None, typer.Option("--months", help="Its length instead of a last day.")] = None
    without_end: Annotated[bool, typer.Option("--without-end", help="It has no last day.")] = False
    any_client: Annotated[
        bool, typer.Option("--any-client", help="Not for the job's client alone: you may license it to others.")
    ] = False
    condition: Annotated[
        Texts, typer.Option("--condition", help="What you must keep to; stays inside. Again for more.")
    ] = None
    client_condition: Annotated[
        Texts,
        typer.Option("--client-condition", help="What the client keeps to as well; passed on. Again for more."),
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignerOptions:
    """Who puts their name to a paper."""

    by: Annotated[str, typer.Option("--by", help="Who signs, where it is not the person it is about.")] = ""
    guardian: Annotated[str, typer.Option("--guardian", help="Parent or guardian, for somebody under 18.")] = ""
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth of the person.")] = ""
    under_18: Annotated[bool, typer.Option("--under-18", help="Under 18 when it is signed.")] = False
    witness: Annotated[str, typer.Option("--witness", help="Who saw it signed.")] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilingOptions:
    """A signed paper to be filed."""

    signed: Annotated[str, typer.Option("--signed", metavar="YYYY-MM-DD", help="When it was signed.")] = ""
    scan: Annotated[Path | None, typer.Option("--scan", help="The signed paper: PDF, PNG or JPEG.")] = None
    form: Annotated[
        str, typer.Option("--form", metavar="NUMBER", help="Our form that was signed, as printed on it.")
    ] = ""
    terms: Annotated[Path | None, typer.Option("--terms", help="A TOML file of what it allows, in parts.")] = None
    works: Annotated[Texts, typer.Option("--for", metavar="DELIVERABLE", help="Only for this; again for more.")] = (
        None
    )


def read_allowed(terms: TermOptions, filing: FilingOptions | None = None) -> Allowed:
    """What a paper allows, as typed. Raises BadInput for a wrong date or number of months."""
    from bizkit.domain.errors import BadInput
    from bizkit.services.rights.signed_paper import Allowed, day_or_none

    if terms.months is not None and not 1 <= terms.months <= 1200:
        raise BadInput(wanted="a number of months 1..1200", got=terms.months, field="--months")
    return Allowed(
        media=tuple(terms.media or ()),
        where=tuple(terms.where or ()),
        starts=day_or_none(terms.starts, "--from"),
        until=day_or_none(terms.until, "--until"),
        months=terms.months,
        without_end=terms.without_end,
        any_client=terms.any_client,
        terms=filing.terms if filing else None,
        form=filing.form.strip() if filing else "",
    )


def read_signed(terms: TermOptions, signer: SignerOptions, filing: FilingOptions) -> Signed | None:
    """A signed paper as typed; None when neither signature nor scan is given. Raises BadInput."""
    from bizkit.domain.dates import iso_date
    from bizkit.domain.errors import BadInput

    if not filing.signed and filing.scan is None:
        return None
    if not filing.signed:
        raise BadInput(wanted="the day of signature", got="nothing", field="--signed")
    if filing.scan is None:
        raise BadInput(wanted="the signed paper as a file", got="nothing", field="--scan")
    on = iso_date(filing.signed, field="--signed")
    return as_signed(terms, signer, on, filing.scan, read_allowed(terms, filing))


def as_signed(
    terms: TermOptions, signer: SignerOptions, on: date, shown_by: Path, allows: Allowed, *, how: str = "scan"
) -> Signed:
    """A paper signed on that day. shown_by: the scan, or the drawn signature where `how` is "drawn"."""
    from bizkit.services.rights.signed_paper import Signed, day_or_none

    return Signed(
        on=on,
        scan=shown_by,
        by=signer.by,
        guardian=signer.guardian,
        born=day_or_none(signer.born, "--born"),
        under_18=signer.under_18,
        witness=signer.witness,
        allows=allows,
        conditions=tuple(terms.condition or ()),
        client_conditions=tuple(terms.client_condition or ()),
        how=how,
    )
