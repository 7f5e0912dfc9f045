"""`bizkit holding`: every paper by which the studio may use what is not its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.expanded import expanded
from bizkit.cli.holdings import added, holding_table
from bizkit.cli.paper_options import FilingOptions, SignerOptions, TermOptions, as_signed, read_allowed, read_signed
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, day_of, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.rights.correcting import Corrected
    from bizkit.services.rights.holdings import HoldingRow
    from bizkit.services.rights.withdrawing import Withdrawn

app = typer.Typer(
    help="Every paper on file: releases, places, music, crew, permits, insurance.",
    no_args_is_help=True,
    add_completion=False,
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
PaperArgument = Annotated[int, typer.Argument(metavar="PAPER", help="Its number in the list.")]
WhyOption = Annotated[str, typer.Option("--reason", help="Why; kept in the book.")]


@app.command()
@expanded
def add(
    job: JobArgument,
    filing: FilingOptions,
    terms: TermOptions,
    signer: SignerOptions,
    kind: Annotated[str, typer.Option("--kind", help="What paper it is; see bizkit holding kinds.")],
    about: Annotated[
        str, typer.Option("--about", help="Who, which place, tune or thing it is about; as the form has it without.")
    ] = "",
    sent: Annotated[bool, typer.Option("--sent", help="Not signed yet, but sent to be signed.")] = False,
    number: Annotated[str, typer.Option("--number", help="Of a permit, policy or ID: its own number.")] = "",
    days: Annotated[
        list[str] | None, typer.Option("--day", metavar="YYYY-MM-DD", help="Shoot day it is needed on; all without.")
    ] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File a signed paper, or (without --signed and --scan) note that one is to be signed.

    It holds what it says: --form brings what our form of that number asked for; otherwise type what it allows, with
    --media, --where and --until, --months or --without-end. Of a form of ours where neither is said it holds nothing;
    somebody else's paper must say it. A permit, insurance, ID or medical is valid --from a day --until another and
    must cover the shoot days, wherever they are moved (a diver's medical those in the water); without them it is
    noted as needed. --kind music files one paper for composition and recording.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.domain.errors import BadInput
    from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS
    from bizkit.services.rights.filing import add_holding_paper
    from bizkit.services.rights.holdings import MUSIC
    from bizkit.services.rights.shoot_papers import add_shoot_paper

    folder = studio_folder(studio, reason)
    if kind in SHOOT_PAPER_KINDS:
        for field, value in _strange(filing, terms, signer).items():
            if value:
                raise BadInput(
                    wanted=f"--from and --until for a {SHOOT_PAPER_KINDS[kind]}", got=field, field="--kind"
                )
        done = add_shoot_paper(
            folder, kind, job, about, day(on),
            starts=iso_date(terms.starts, field="--from") if terms.starts else None,
            until=iso_date(terms.until, field="--until") if terms.until else None,
            number=number, days=[iso_date(one, field="--day") for one in days or ()], scan=filing.scan,
        )  # fmt: skip
        show(done, as_json, added)
        return
    if number or days:
        raise BadInput(
            wanted=f"--number and --day with one of {', '.join(SHOOT_PAPER_KINDS)}", got=kind, field="--kind"
        )
    allows = read_allowed(terms, filing)
    paper = read_signed(terms, signer, filing)
    counts = day_of(folder, on, paper.on if paper else None)
    rows = [
        add_holding_paper(
            folder, one, job, about, counts, signed=paper, allows=allows, sent=sent, works=filing.works or ()
        )
        for one in (MUSIC if kind == "music" else (kind,))
    ]
    if kind == "music":
        show(rows, as_json, lambda both: [line for row in both for line in added(row)])
    else:
        show(rows[0], as_json, added)


def _strange(filing: FilingOptions, terms: TermOptions, signer: SignerOptions) -> dict[str, object]:
    """What says nothing about a paper of the shoot itself, by option."""
    return {
        "--signed": filing.signed, "--form": filing.form, "--terms": filing.terms, "--for": filing.works,
        "--by": signer.by, "--guardian": signer.guardian, "--born": signer.born, "--under-18": signer.under_18,
        "--witness": signer.witness, "--media": terms.media, "--where": terms.where, "--months": terms.months,
        "--without-end": terms.without_end, "--condition": terms.condition,
        "--client-condition": terms.client_condition,
    }  # fmt: skip


@app.command()
def kinds(as_json: JsonOption = False) -> None:
    """Every kind of paper, and whether it must cover the licence or the shoot days."""
    from bizkit.cli.show import table
    from bizkit.domain.rights.holding import HOLDING_KINDS
    from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS

    rows = [{"kind": key, "name": name, "must_cover": "licence"} for key, name in HOLDING_KINDS.items()]
    rows.insert(5, {"kind": "music", "name": "one paper for composition and recording", "must_cover": "licence"})
    rows += [{"kind": key, "name": name, "must_cover": "shoot days"} for key, name in SHOOT_PAPER_KINDS.items()]
    show(rows, as_json, lambda rows: table([[row["kind"], row["must_cover"], row["name"]] for row in rows]))


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    kind: Annotated[list[str] | None, typer.Option("--kind", help="Only of this kind; again for more.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Papers on file: about whom or what, when signed, what they allow, when they end."""
    from bizkit.services.rights.holdings import list_holdings

    def text(rows: list[HoldingRow]) -> list[str]:
        return holding_table(rows, kinds=True) or ["No papers on file."]

    show(list_holdings(studio_folder(studio), tuple(kind) if kind else None, day(on), job), as_json, text)


@app.command()
def withdraw(
    job: JobArgument,
    paper: PaperArgument,
    reason: WhyOption,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that consent was taken back: nothing new is granted on it; live licences are listed to decide about."""
    from bizkit.services.rights.withdrawing import withdraw_holding

    def text(row: Withdrawn) -> Iterator[str]:
        yield f"{row['kind'].replace('_', ' ')} of {row['subject']} withdrawn: nothing new can be granted on it."
        for number in row["older"]:
            yield f"Nor on paper {number}, signed before: if they still agree, have it signed anew."
        for still in row["stays"]:
            yield (
                f"Look: paper {still['paper']}, signed by {still['by']}, still holds. If they took it back too: "
                f"bizkit holding withdraw {row['job']} {still['paper']} --reason WHY"
            )
        for one in row["elsewhere"]:
            yield (
                f"On file in {one['job']} too: paper {one['paper']}, {one['kind'].replace('_', ' ')}. If that is "
                "taken "
                "back as well, withdraw it there"
            )
        yield f"What was done before {row['withdrawn_on']} stays covered."
        if row["in"]:
            yield f"Needed for: {', '.join(row['in'])}"
        if not row["live"]:
            yield "No licence rests on it."
        for live in row["live"]:
            yield f"Decide about: {live['number']}, {live['licensee']}, {live['state']}, until {live['until']}"

    show(withdraw_holding(studio_folder(studio, reason), job, paper, day(on), reason=reason), as_json, text)


@app.command()
def drop(
    job: JobArgument,
    paper: PaperArgument,
    reason: WhyOption,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take out a paper that was noted by mistake and never signed."""
    from bizkit.services.rights.withdrawing import drop_holding

    def text(row: HoldingRow) -> Iterator[str]:
        yield f"{row['kind'].replace('_', ' ')} of {row['subject']} taken out."

    show(drop_holding(studio_folder(studio, reason), job, paper, day(on), reason=reason), as_json, text)


@app.command()
@expanded
def correct(
    job: JobArgument,
    paper: PaperArgument,
    reason: WhyOption,
    filing: FilingOptions,
    terms: TermOptions,
    signer: SignerOptions,
    about: Annotated[str, typer.Option("--about", help="Who or what it is really about.")] = "",
    authority: Annotated[
        str, typer.Option("--authority", help="By what right --by signed for somebody of age: a power of attorney...")
    ] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct what was recorded wrongly of a signed paper: only what is said here changes, both are kept.

    Of the terms, what is not said stays as it was; --form brings those of the form that was signed. --condition and
    --client-condition give the whole list, "none" for none; --for all takes a limit to deliverables away. Licences
    that rest on the paper are named, with what they lack by the correction.
    """
    from bizkit.services.rights.correcting import Correction, correct_holding
    from bizkit.services.rights.signed_paper import day_or_none

    correction = Correction(
        about=about,
        signed_on=day_or_none(filing.signed, "--signed"),
        scan=filing.scan,
        allows=read_allowed(terms, filing),
        works=tuple(filing.works or ()),
        by=signer.by,
        guardian=signer.guardian,
        born=day_or_none(signer.born, "--born"),
        under_18=signer.under_18,
        witness=signer.witness,
        conditions=tuple(terms.condition or ()),
        client_conditions=tuple(terms.client_condition or ()),
        authority=authority,
    )

    def text(row: Corrected) -> Iterator[str]:
        yield f"paper {row['corrects']} stays as it was recorded; paper {row['id']} says what is so"
        yield from added(row)
        for one in row["live"]:
            yield f"Rests on it: {one['number']}, {one['licensee']}, {one['state']}: {one['lacks'] or 'covered'}"
            if one["certificate_differs"]:
                yield f"  Its certificate says otherwise: bizkit rights certificate {one['number']}"

    folder = studio_folder(studio, reason)
    counts = day_of(folder, on, correction.signed_on)
    done = correct_holding(folder, job, paper, counts, correction, reason=reason)
    show(done, as_json, text)


@app.command()
@expanded
def sign(
    job: JobArgument,
    terms: TermOptions,
    signer: SignerOptions,
    kind: Annotated[str, typer.Option("--kind", help="What paper it is.")],
    about: Annotated[str, typer.Option("--about", help="Who, which place or thing it is about.")],
    signature: Annotated[Path, typer.Option("--signature", help="The drawn signature: PNG or JPEG.")],
    works: Annotated[
        list[str] | None, typer.Option("--for", metavar="DELIVERABLE", help="Only for this; again for more.")
    ] = None,
    details: Annotated[Path | None, typer.Option("--details", help="A TOML file with the rest of the paper.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fill in a paper on screen, place a drawn signature on it, and file the signed PDF by its SHA-256."""
    from bizkit.services.rights.signing import sign_paper

    signed = as_signed(terms, signer, day(on), signature, read_allowed(terms), how="drawn")
    done = sign_paper(
        studio_folder(studio, reason), kind, job, about, day(on), signed, works=works or (), details=details
    )
    show(done, as_json, added)
