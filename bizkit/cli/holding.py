"""`bizkit holding`: every paper by which the studio may use what is not its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.holdings import ClientConditionOption, ConditionOption, added, holding_table
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder

app = typer.Typer(
    help="Every paper on file: releases, places, music, crew, permits, insurance.",
    no_args_is_help=True,
    add_completion=False,
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
PaperArgument = Annotated[int, typer.Argument(metavar="PAPER", help="Its number in the list.")]
WhyOption = Annotated[str, typer.Option("--reason", help="Why; kept in the book.")]


@app.command()
def add(
    job: JobArgument,
    kind: Annotated[str, typer.Option("--kind", help="What paper it is; see bizkit holding kinds.")],
    about: Annotated[str, typer.Option("--about", help="Who, which place, tune or thing it is about.")],
    signed: Annotated[str, typer.Option("--signed", metavar="YYYY-MM-DD", help="When it was signed.")] = "",
    scan: Annotated[Path | None, typer.Option("--scan", help="The signed paper: PDF, PNG or JPEG.")] = None,
    by: Annotated[str, typer.Option("--by", help="Who signed, where it is not the person it is about.")] = "",
    guardian: Annotated[str, typer.Option("--guardian", help="Who signs for somebody under 18.")] = "",
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth, where under 18.")] = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="Under 18 when it was signed.")] = False,
    witness: Annotated[str, typer.Option("--witness", help="Who saw it signed.")] = "",
    media: Annotated[list[str] | None, typer.Option("--media", help="A medium it allows; again for more.")] = None,
    where: Annotated[list[str] | None, typer.Option("--where", help="A country or region; again for more.")] = None,
    starts: Annotated[str, typer.Option("--from", metavar="YYYY-MM-DD", help="First day it allows.")] = "",
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day it allows.")] = "",
    months: Annotated[int | None, typer.Option("--months", help="Its length instead of a last day.")] = None,
    terms: Annotated[Path | None, typer.Option("--terms", help="A TOML file of what it allows, in parts.")] = None,
    condition: ConditionOption = None,
    client_condition: ClientConditionOption = None,
    works: Annotated[
        list[str] | None, typer.Option("--for", metavar="DELIVERABLE", help="Only for this; again for more.")
    ] = None,
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

    Without --media and --where it allows what the studio's own form asks for; somebody else's paper must say it. A
    permit, insurance, ID or medical is valid --from a day --until another and must cover the shoot days; without them
    it is noted as needed. --kind music files one paper for composition and recording.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.domain.errors import BadInput
    from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS
    from bizkit.services.rights.holdings import MUSIC, add_holding_paper
    from bizkit.services.rights.shoot_papers import add_shoot_paper
    from bizkit.services.rights.signed_paper import read_allowed, read_signed

    folder = studio_folder(studio, reason)
    if kind in SHOOT_PAPER_KINDS:
        strange = {"--signed": signed, "--by": by, "--guardian": guardian, "--media": media, "--where": where,
                   "--months": months, "--terms": terms, "--for": works, "--condition": condition,
                   "--client-condition": client_condition}  # fmt: skip
        for field, value in strange.items():
            if value:
                raise BadInput(
                    wanted=f"--from and --until for a {SHOOT_PAPER_KINDS[kind]}", got=field, field="--kind"
                )
        done = add_shoot_paper(
            folder, kind, job, about, day(on),
            starts=iso_date(starts, field="--from") if starts else None,
            until=iso_date(until, field="--until") if until else None,
            number=number, days=[iso_date(one, field="--day") for one in days or ()], scan=scan,
        )  # fmt: skip
        show(done, as_json, added)
        return
    if number or days:
        raise BadInput(
            wanted=f"--number and --day with one of {', '.join(SHOOT_PAPER_KINDS)}", got=kind, field="--kind"
        )
    allows = read_allowed(media=media, where=where, starts=starts, until=until, months=months, terms=terms)
    paper = read_signed(
        signed=signed, scan=scan, allows=allows, by=by, guardian=guardian, born=born, under_18=under_18,
        conditions=condition, client_conditions=client_condition, witness=witness,
    )  # fmt: skip
    rows = [
        add_holding_paper(folder, one, job, about, day(on), signed=paper, allows=allows, sent=sent, works=works or ())
        for one in (MUSIC if kind == "music" else (kind,))
    ]
    if kind == "music":
        show(rows, as_json, lambda both: [line for row in both for line in added(row)])
    else:
        show(rows[0], as_json, added)


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

    def text(rows: list[dict[str, Any]]) -> list[str]:
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
    from bizkit.services.rights.holdings import withdraw_holding

    def text(row: dict[str, Any]) -> Iterator[str]:
        yield f"{row['kind'].replace('_', ' ')} of {row['subject']} withdrawn: nothing new can be granted on it."
        if not row["live"]:
            yield "No licence rests on it."
        for one in row["live"]:
            until = f"until {one['ends']}" if one["ends"] else "without an end"
            yield f"Decide about: {one['number']}, {one['licensee']}, {one['state']} {until}"

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
    from bizkit.services.rights.holdings import drop_holding

    def text(row: dict[str, Any]) -> Iterator[str]:
        yield f"{row['kind'].replace('_', ' ')} of {row['subject']} taken out."

    show(drop_holding(studio_folder(studio, reason), job, paper, day(on), reason=reason), as_json, text)


@app.command()
def sign(
    job: JobArgument,
    kind: Annotated[str, typer.Option("--kind", help="What paper it is.")],
    about: Annotated[str, typer.Option("--about", help="Who, which place or thing it is about.")],
    signature: Annotated[Path, typer.Option("--signature", help="The drawn signature: PNG or JPEG.")],
    by: Annotated[str, typer.Option("--by", help="Who signs, where it is not the person it is about.")] = "",
    guardian: Annotated[str, typer.Option("--guardian", help="Who signs for somebody under 18.")] = "",
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth.")] = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="Under 18 on this day.")] = False,
    witness: Annotated[str, typer.Option("--witness", help="Who saw it signed.")] = "",
    media: Annotated[list[str] | None, typer.Option("--media", help="A medium it allows; again for more.")] = None,
    where: Annotated[list[str] | None, typer.Option("--where", help="A country or region; again for more.")] = None,
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day it allows.")] = "",
    condition: ConditionOption = None,
    client_condition: ClientConditionOption = None,
    details: Annotated[Path | None, typer.Option("--details", help="A TOML file with the rest of the paper.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fill in a paper on screen, place a drawn signature on it, and file the signed PDF by its SHA-256."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.signed_paper import read_allowed
    from bizkit.services.rights.signing import sign_paper

    done = sign_paper(
        studio_folder(studio, reason), kind, job, about, day(on), signature=signature, by=by, guardian=guardian,
        born=iso_date(born, field="--born") if born else None, under_18=under_18, witness=witness,
        allows=read_allowed(media=media, where=where, until=until), conditions=condition or (),
        client_conditions=client_condition or (), details=details,
    )  # fmt: skip
    show(done, as_json, added)
