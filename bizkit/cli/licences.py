"""The part of `bizkit rights` that is about licences granted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    shorten,
    show,
    studio_folder,
    table,
)

if TYPE_CHECKING:
    from bizkit.services.rights.certificates import CertificateShown
    from bizkit.services.rights.granting import EndedEarly, Granted
    from bizkit.services.rights.licence_list import LicencesShown
    from bizkit.services.rights.licence_quotes import LicenceDrafted
    from bizkit.services.rights.licences import LicenceRow
    from bizkit.services.rights.overrides import OverrideRow
    from bizkit.services.rights.rights_files import RightsExported, SidecarsWritten


JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
LicenceArgument = Annotated[str, typer.Argument(metavar="LICENCE", help="The licence's number, or its job.")]
MediaOption = Annotated[list[str], typer.Option("--media", help="A medium; again for more.")]
WhereOption = Annotated[list[str], typer.Option("--where", help="A country or region; again for more.")]


def licence_lines(rows: Sequence[LicenceRow]) -> list[str]:
    """Licences as aligned text; none for no rows."""
    if not rows:
        return []
    head = ["LICENCE", "OF", "STATE", "FROM", "TO", "EXCLUSIVE"]
    body = [
        [
            row["number"],
            shorten(row["licensee"], 34),
            row["state"] + (", not held" if row.get("not_held") else ""),
            row["begins"],
            row["until"],
            row["exclusivity"],
        ]
        for row in rows
    ]
    return table([head, *body])


def override_lines(rows: Sequence[OverrideRow]) -> Iterator[str]:
    """What was done although something stood against it."""
    if rows:
        yield ""
        yield "OVERRIDDEN"
    for row in rows:
        yield f"  {row['on']}, {row['by']}: {row['doing']}, although {len(row['against'])} things stood against it"
        yield f"    Reason: {row['reason']}"
        yield from (f"    {one}" for one in row["against"])


def inside_lines(row: Granted | CertificateShown) -> Iterator[str]:
    """Conditions of the papers behind a licence that its certificate does not tell the client."""
    yield from (f"Not on the certificate: {one}" for one in row["inside"])


def grant(
    job: JobArgument,
    override: Annotated[str, typer.Option("--override", help="Why, beyond what is held; kept for ever.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Grant the licence of a job and issue its certificate; refused while anything stands against it."""
    from bizkit.services.rights.granting import grant_licence

    def text(row: Granted) -> Iterator[str]:
        when = {"waiting": "takes effect when every invoice is paid"}.get(row["state"], row["state"])
        yield f"{row['number']} granted to {row['licensee']}: {when}"
        if row["override"]:
            yield f"Look: granted beyond what is held, because {row['override']}"
        yield from (f"Look: {one}" for one in row["look"])
        yield from inside_lines(row)
        yield f"Paper: {row['file']}"

    show(grant_licence(studio_folder(studio, reason), job, day(on), override=override), as_json, text)


def certificate(
    licence: LicenceArgument,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The licence certificate as it stands; issued anew when something changed since the last one."""
    from bizkit.services.rights.certificates import certificate as certify

    def text(row: CertificateShown) -> Iterator[str]:
        yield f"{row['number']} revision {row['revision']}, issued {row['issued_on']}: {row['state']}"
        yield from (f"Look: {one}" for one in row["look"])
        yield from inside_lines(row)
        yield f"Paper: {row['file']}" + ("" if row["new"] else " (nothing changed since)")

    show(certify(studio_folder(studio, reason), licence, day(on)), as_json, text)


def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every licence granted, and how it stands; those that exclude one another."""
    from bizkit.services.rights.licence_list import list_licences

    def text(data: LicencesShown) -> Iterator[str]:
        yield from licence_lines(data["licences"]) or ["No licences granted yet: bizkit rights grant JOB"]
        for row in data["licences"]:
            yield from (f"Look: {row['number']} is not held: {one}" for one in row["not_held"])
        if data["conflicts"]:
            yield ""
            yield "THESE EXCLUDE ONE ANOTHER"
            yield from (f"  {one['text']}" for one in data["conflicts"])

    show(list_licences(studio_folder(studio), day(on), job), as_json, text)


def end(
    licence: LicenceArgument,
    reason: Annotated[str, typer.Option("--reason", help="Why, such as not paid; kept in the book.")],
    after: Annotated[str, typer.Option("--after", metavar="YYYY-MM-DD", help="Its last day; today without.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """End a licence early, as when it is not paid for."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.granting import end_licence

    def text(row: EndedEarly) -> Iterator[str]:
        yield f"{row['number']} of {row['licensee']} ends after {row['after']}: {row['reason']}"
        yield from (f"Look: {one}" for one in row["look"])
        yield f"Tell the client. A new certificate says so: bizkit rights certificate {row['number']}"

    last = iso_date(after, field="--after") if after else None
    show(end_licence(studio_folder(studio, reason), licence, day(on), reason=reason, after=last), as_json, text)


def first_use(
    licence: LicenceArgument,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the day of first use, where the term counts from it; with --reason again, where it was another day."""
    from bizkit.services.rights.granting import use_first

    done = use_first(studio_folder(studio, reason), licence, day(on), reason=reason)
    show(done, as_json, lambda row: licence_lines([row]))


def ending(
    within: Annotated[str, typer.Option("--within", help="How soon: 90d, 12w.")] = "90d",
    calendar: Annotated[Path | None, typer.Option("--calendar", help="Write all ends to this .ics file.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Licences that end soon, with the price of a renewal before tax."""
    from bizkit.services.rights.renewals import days_within, list_ending, write_ends

    folder = studio_folder(studio)
    rows = list_ending(folder, day(on), days_within(within))
    written = write_ends(folder, calendar) if calendar else None

    def text(data: dict[str, Any]) -> Iterator[str]:
        if not data["ending"]:
            yield f"No licence ends within {within}."
        for row in data["ending"]:
            price = amount(row["net"], row["currency"]) if row["net"] else f"no price: {row['why_not']}"
            rest = ", at rest" if row["state"] == "at rest" else ""
            yield f"{row['ends']}  {row['number']}  {row['job']}, {row['licensee']}{rest}: renewal {price}"
            yield f"            bizkit rights renew {row['number']}"
            yield from (f"            Look: {one}" for one in row["look"])
        if data["calendar"]:
            yield f"Wrote {data['calendar']['file']}: {data['calendar']['events']} ends"

    show({"ending": rows, "calendar": written}, as_json, text)


def renew(
    licence: LicenceArgument,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Draft the quote for the same licence again, ready to send: from the day after its end, or from today.

    One that was ended early or is not paid in full is renewed only with --reason.
    """
    from bizkit.services.rights.licence_quotes import renew_licence

    show(renew_licence(studio_folder(studio, reason), licence, day(on), reason=reason), as_json, _drafted)


def offer(
    job: JobArgument,
    media: MediaOption,
    where: WhereOption,
    starts: Annotated[str, typer.Option("--from", metavar="YYYY-MM-DD", help="First day.")],
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day.")] = "",
    months: Annotated[int | None, typer.Option("--months", help="Its length instead of a last day.")] = None,
    open_end: Annotated[bool, typer.Option("--open-end", help="Without an end.")] = False,
    exclusivity: Annotated[str, typer.Option("--exclusivity", help="none, sector or sole.")] = "none",
    sector: Annotated[str, typer.Option("--sector", help="The line of business that is protected.")] = "",
    on_full_payment: Annotated[
        bool, typer.Option("--on-full-payment/--at-once", help="Whether it waits for the payment.")
    ] = True,
    works: Annotated[
        list[str] | None, typer.Option("--work", metavar="DELIVERABLE", help="Only this; again for more.")
    ] = None,
    client: Annotated[str, typer.Option("--to", metavar="CLIENT", help="Another client than the job's.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Draft the quote for a wider or another licence of works that exist, ready to send."""
    from bizkit.services.rights.licence_quotes import offer_licence
    from bizkit.services.rights.licence_terms import typed_request

    folder = studio_folder(studio)
    request = typed_request(
        media=media, where=where, starts=starts, until=until, months=months, open_end=open_end,
        exclusivity=exclusivity, sector=sector, on_full_payment=on_full_payment, tree=folder.studio.media,
    )  # fmt: skip
    done = offer_licence(folder, job, request, day(on), client=client, works=works or ())
    show(done, as_json, _drafted)


def _drafted(data: LicenceDrafted) -> Iterator[str]:
    yield f"{data['key']} drafted for {data['client']}: {amount(data['net'], data['currency'])} before tax"
    for line in data["lines"]:
        yield f"  {line['item']}: {amount(line['amount'], data['currency'])}"
        yield f"    {line['why']}"
    yield from (f"  {sentence}" for sentence in data["sentences"])
    yield from (f"Look: {warning}" for warning in data["warnings"])
    yield f"Send it with: bizkit quote send {data['key']}"


def export(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to write; made when it is not there.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write all licences and papers as CSV, and each licence as an ODRL policy in JSON-LD."""
    from bizkit.services.rights.rights_files import export_rights

    def text(data: RightsExported) -> Iterator[str]:
        yield from (f"Wrote {name}" for name in data["files"])

    show(export_rights(studio_folder(studio), folder, day(on)), as_json, text)


def sidecar(
    job: JobArgument,
    deliverable: Annotated[str, typer.Argument(metavar="DELIVERABLE", help="The deliverable's key.")],
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Stills or cuts of it.")],
    replace: Annotated[bool, typer.Option("--replace", help="Write over a sidecar that is there.")] = False,
    licence: Annotated[
        str, typer.Option("--licence", metavar="NUMBER", help="The licence they go out under; the job's without.")
    ] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write an XMP sidecar beside each file: credit, licence, release status from the records."""
    from bizkit.services.rights.rights_files import write_sidecars

    def text(data: SidecarsWritten) -> Iterator[str]:
        yield from (f"Wrote {name}" for name in data["files"])
        yield f"Model release {data['model_release']}, property release {data['property_release']}"
        yield f"Licence {data['licence']}" if data["licence"] else "No licence in force: nothing is said of one"
        yield from (f"Look: {one}" for one in data["look"])

    done = write_sidecars(
        studio_folder(studio), job, deliverable, files, day(on), replace=replace, licence=licence.strip()
    )
    show(done, as_json, text)


COMMANDS = (grant, certificate, list_, end, first_use, ending, renew, offer, export, sidecar)
