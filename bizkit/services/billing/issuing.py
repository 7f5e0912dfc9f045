"""What every invoice of a job has in common: who is billed, how it is taxed, its number, its paper, its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, cast

from bizkit.domain.billing.contents import check_account
from bizkit.domain.billing.home_tax import TaxAtHome, tax_at_home, tax_currency
from bizkit.domain.billing.invoice import add_up, invoice_document
from bizkit.domain.billing.law import bracketed, law
from bizkit.domain.billing.lines import INVOICE, InvoiceLine, income_split
from bizkit.domain.billing.payment import Terms
from bizkit.domain.billing.tax import KINDS, TaxTreatment
from bizkit.domain.billing.tax_later import tax_was_quoted
from bizkit.domain.billing.tax_point import FOURTEEN_DAYS, TaxPoint, tax_point
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, percent, plain, total
from bizkit.domain.parties import Client
from bizkit.domain.pricing.exchange_rate import check_near
from bizkit.domain.typed_numbers import number_of
from bizkit.services.billing.look_ahead import looks_at_invoice
from bizkit.services.billing.payment_qr import payment_code
from bizkit.services.billing.said_of_tax import when_taxed
from bizkit.services.billing.supplied import delivered_on, supplied
from bizkit.services.job.evidence import with_evidence
from bizkit.services.job.jobs import quote_of
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.taxed import treated
from bizkit.services.studio.wording import Wording, wording

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.base import Licence
    from bizkit.domain.documents.on_file import BillOnFile, StageBilled
    from bizkit.services.billing.bill_made import BillMade
    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.issued import IssuedBill
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person who issues an invoice may say about it.

    home_rate: money of the tax office for one unit of the invoice's, and home_rate_source, whose rate it is.
    simplified: an invoice with the contents of a simplified one. tax_kind: one of `billing.tax.KINDS` for all of it,
    and tax_note, the wording where it is exempt. add_tax: the client knows that tax comes on top of a quote that was
    sent without it; the reason says how. done_before: the work was done before the studio was registered, so that no
    tax is charged on it; the reason says how that is known. agreed: who said yes, and when, to charges that the quote
    does not state. fee_tax: how the fee of a cancelled job is taxed, where it is not as usual.
    """

    reason: str = ""
    home_rate: str = ""
    home_rate_source: str = ""
    simplified: bool = False
    tax_kind: str = "standard"
    tax_note: str = ""
    add_tax: bool = False
    agreed: str = ""
    done_before: bool = False
    fee_tax: str = ""


@dataclass(frozen=True, slots=True)
class Billed:
    """A job about to be billed, in the caller's transaction: its row, its client, its tax and the day it counts.

    work_bills: whether it is the work that is billed, and not what being late costs.
    """

    folder: StudioFolder
    work: Connection
    stamp: Stamp
    job: Job
    client: Client
    how: TaxTreatment
    point: TaxPoint
    asked: Asked
    work_bills: bool = True

    @property
    def key(self) -> str:
        """The job's key."""
        return str(self.job.key)

    @property
    def currency(self) -> str:
        """Currency of the job and of every paper about it."""
        return str(self.job.currency)

    @property
    def notes(self) -> dict[str, str]:
        """Wording per tax category that needs one."""
        return {self.how.category: self.how.note} if self.how.note else {}

    @property
    def words(self) -> Wording:
        """What lines say, in the client's language."""
        studio, client = self.folder.studio, self.client
        return wording(self.folder, client.language or studio.language, client.locale or studio.locale)


@dataclass(frozen=True, slots=True)
class Made:
    """An issued paper, and its PDF to write once the transaction is committed. warnings: what to look at again.
    einvoice: the electronic form that its client wants beside it."""

    document: BillOnFile
    paper: FiledPaper
    warnings: tuple[str, ...] = ()
    einvoice: str = ""

    def write(self) -> None:
        """Write the PDF. Raises RuleBroken that says what is issued and how to write it, when it cannot."""
        self.paper.write()

    def data(self) -> BillMade:
        """What a command prints."""
        document = self.document
        return {
            "number": document["number"],
            "job": document["job"],
            "stage": document["stage"]["title"] if "stage" in document else "",
            "currency": document["currency"],
            "net": document["net"],
            "tax": document["tax"],
            "gross": document["gross"],
            "due": document["due"],
            "due_on": document["due_on"],
            "tax_point": document["tax_point"],
            "file": str(self.paper.path),
            "warnings": list(self.warnings),
            "einvoice": self.einvoice,
            "document": document,
        }


def begin(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    job: str,
    asked: Asked = Asked(),
    *,
    paid_on: date | None = None,
    performed_on: date | None = None,
) -> Billed:
    """A job to be billed on the stamp's day. paid_on: when money for it came in before the invoice.

    performed_on: when the work billed was done; without it the day on which everything was delivered. Raises
    NotFound, or RuleBroken for a client abroad that nothing shows to be a business, or while the job's last invoice
    was issued and not written.
    """
    from bizkit.services.job.job_client import client_of_job
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.papers_folder import refuse_unwritten

    row = the_job(work, job)
    refuse_unwritten(folder, work, kind=INVOICE, about=row.key)
    client = with_evidence(work, client_of_job(folder, work, row))
    point = tax_point(
        performed_on=performed_on or delivered_on(work, row.key),
        invoiced_on=stamp.on,
        paid_on=paid_on,
        days_after=FOURTEEN_DAYS if folder.studio.country in ("GB", "IM") else 0,
    )
    how = treated(folder, client, point.on)
    if asked.tax_kind != "standard":
        if asked.tax_kind not in KINDS:
            raise NotFound("kind of tax", asked.tax_kind, KINDS, field="--tax")
        how = how.of_kind(asked.tax_kind, folder.studio, point.on, asked.tax_note.strip())
    billed = Billed(folder, work, stamp, row, client, how, point, asked, work_bills=performed_on is None)
    return replace(billed, how=_done_before(billed)) if asked.done_before else billed


def _done_before(billed: Billed) -> TaxTreatment:
    """No tax on what was supplied before registration, whenever it is paid for (HMRC manual VATTOS5210).

    Raises BadInput without a reason, RuleBroken where the studio or the job knows no time before registration.
    """
    how, starts, reason = billed.how, billed.folder.studio.tax.registered_from, billed.asked.reason.strip()
    if not reason:
        raise BadInput(wanted="--reason with it: what shows when it was done", got="nothing", field="--done-before")
    if starts is None or str(billed.job.opened_on) >= starts.isoformat():
        known = f"registered from {starts}" if starts else "registered without a first day (tax.registered_from)"
        raise RuleBroken(
            f"{billed.key} was agreed on {billed.job.opened_on}, the studio is {known}: nothing of it "
            "was done before the registration"
        )
    if not how.rate:
        return how
    note = billed.words.say("lines.before_registration", tax=how.name, day=billed.words.day(starts.isoformat()))
    return TaxTreatment("O", how.name, Decimal(0), note, f"done before registration from {starts}: {reason}")


def send_out(
    billed: Billed,
    lines: Sequence[InvoiceLine],
    *,
    stage: StageBilled,
    quoted: Mapping[str, Money] | None = None,
    licence_sentences: Sequence[str] = (),
    notes: Sequence[str] = (),
    prepaid: Money | None = None,
    more: Mapping[str, Any] | None = None,
) -> Made:
    """Freeze an invoice: draw its number, write it into the book, draw its PDF, all in the caller's transaction.

    stage: what of the job it bills (`position`, `title`, `reason`). quoted: the quote's net by section, to share
    lines without one. more: further members of the document.
    """
    from bizkit.services.billing.agreed import late_terms
    from bizkit.services.studio.filing import file_paper
    from bizkit.services.studio.numbers import draw
    from bizkit.store.events import record
    from bizkit.store.issued import issue

    folder, work, stamp, on = billed.folder, billed.work, billed.stamp, billed.stamp.on
    series, number = draw(work, folder.studio.numbers.invoice, on, practice=folder.studio.practice)
    suspends = bool(late_terms(folder, work, billed.job).suspends_licence and billed.job.licence)
    if suspends and licence_sentences:
        licence_sentences = [*licence_sentences, billed.words.say("lines.suspends")]
    document = invoice_of(
        billed, lines, number=number, quoted=quoted, licence_sentences=licence_sentences, notes=notes, prepaid=prepaid
    )
    check_account(document, billed.asked.reason or folder.reason)
    document["stage"] = {**stage}
    document["suspends_licence"] = suspends
    document["licence"] = cast("Licence | None", billed.job.licence) if licence_sentences else None
    document["reasons"] = {
        "tax_point": billed.point.why,
        "tax": billed.how.rule,
        "evidence": _evidence(billed.client, folder.studio.country),
    }
    document = cast("BillOnFile", {**document, **(more or {})})
    looks = looks_at_invoice(folder, work, document, billed.client, on, billed.asked.reason)
    sent: IssuedBill = issue(
        work, stamp, kind=INVOICE, series=series, number=number, key=billed.key, document=document
    )
    paper = file_paper(work, stamp, folder, sent.document)
    record(
        work, stamp, "issued", billed.key, number=number, stage=stage["title"], gross=document["gross"],
        reason=stage["reason"],
    )  # fmt: skip
    looks += () if document.get("late_payment_of") else tax_to_come(billed)
    return Made(sent.document, paper, tuple(looks), billed.client.einvoice)


def invoice_of(
    billed: Billed,
    lines: Sequence[InvoiceLine],
    *,
    number: str,
    kind: str = INVOICE,
    quoted: Mapping[str, Money] | None = None,
    licence_sentences: Sequence[str] = (),
    notes: Sequence[str] = (),
    prepaid: Money | None = None,
    reference: str = "",
) -> BillOnFile:
    """The document of an invoice or pro forma of a job on the stamp's day; nothing is stored.

    Raises RuleBroken for tax on top of a quote that was sent without, unless that was asked for with its reason.
    """
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.studio.logo import keep_logo

    folder, on = billed.folder, billed.stamp.on
    studio, job, currency = folder.studio, billed.job, billed.currency
    _check_tax_was_quoted(billed)
    terms = Terms.of(studio, billed.client)
    done = supplied(billed.work, billed.key, on) if billed.work_bills else None
    taxes, sums = add_up(lines, (), currency, name=studio.tax.name)
    rounding = total((tax.amount - percent(tax.base, tax.rate) for tax in taxes), currency)
    if rounding:
        which = "lines.tax_rounded" if prepaid is None else "lines.rounding"
        amount = billed.words.money(rounding.rounded().text, currency)
        notes = [*notes, billed.words.say(which, amount=amount, name=studio.tax.name)]
    document = invoice_document(
        number=number,
        kind=kind,
        issued_on=on,
        tax_point=billed.point.on,
        due_on=terms.due_on(on, folder.day_off),
        studio=studio,
        client=billed.client,
        lines=lines,
        currency=currency,
        terms=_terms_in_words(billed.words, terms),
        prepaid=prepaid,
        job=billed.key,
        title=job.title,
        quote={"number": job.quote_number, "revision": job.quote_revision, "accepted_on": job.opened_on},
        reference=reference,
        licence_sentences=licence_sentences,
        notes=notes,
        tax_at_home=_at_home(billed, sums.tax) if kind == INVOICE else None,
        income=income_split(lines, sums.net, quoted or {}),
        logo_sha256=keep_logo(folder),
        simplified=billed.asked.simplified,
        supplied_from=done[0] if done else None,
        supplied_to=done[1] if done else None,
    )
    if billed.work_bills and not cancelled_on(billed.work, billed.key):
        document["work_done"] = done is not None
    later = when_taxed(folder, document, received=prepaid is not None, words=billed.words)
    document = cast("BillOnFile", {**document, **later})
    code = payment_code(document)
    if code:
        document["payment"]["qr"] = code
    return document


def _check_tax_was_quoted(billed: Billed) -> None:
    """Tax that the client was never told of needs a yes and its reason."""
    quote, asked = quote_of(billed.work, billed.job), billed.asked
    if tax_was_quoted(quote.document, billed.how, billed.point.on):
        return
    tax = f"{billed.how.name} {plain(billed.how.rate)} %"
    if not asked.add_tax:
        raise RuleBroken(
            f"{quote.number} was sent without {billed.how.name}, this would charge {tax} on top (tax point "
            f"{billed.point.on}, {billed.point.why}): agree it with the client, then say --add-tax with --reason; or "
            "--done-before with --reason, where the work was done before the registration"
        )
    if not asked.reason.strip():
        raise BadInput(wanted=f"--reason with it: how the client knows of {tax}", got="nothing", field="--add-tax")


def tax_to_come(billed: Billed) -> tuple[str, ...]:
    """What to say where work that the quote puts into a registration to come is billed before it, without tax."""
    quote = quote_of(billed.work, billed.job)
    later, point = quote.document.get("tax_later"), billed.point.on
    if later is None or billed.how.rate or point.isoformat() >= later["starts"]:
        return ()
    done = delivered_on(billed.work, billed.key)
    if done is not None and done.isoformat() < later["starts"]:
        return ()
    tax = billed.how.name
    return (
        f"no {tax} is charged, as its tax point is {point}; {quote.number} says that work from {later['starts']} on "
        f"bears it: ask your accountant whether what is billed here does, and what to do about it",
    )


def _at_home(billed: Billed, tax: Money) -> TaxAtHome | None:
    """The tax in the tax office's money, for an invoice in another; its rate also turns every report home."""
    home, asked = tax_currency(billed.folder.studio), billed.asked
    if billed.currency == home:
        if asked.home_rate:
            raise BadInput(wanted=f"no rate: the job is in {home}", got=asked.home_rate, field="--home-rate")
        return None
    if not asked.home_rate:
        rule = law(billed.folder.studio.country, "home_tax")
        raise RuleBroken(
            f"{billed.key} is billed in {billed.currency} and taxed in {home}"
            f"{bracketed(rule)}: give --home-rate, {home} for one {billed.currency}, and --home-rate-source"
        )
    rate = number_of(asked.home_rate, field="--home-rate", wanted="a rate such as 0.8612")
    recorded = quote_of(billed.work, billed.job).document.get("exchange")
    reason = asked.reason or billed.folder.reason
    check_near(rate, billed.currency, home, recorded, billed.currency, reason, field="--home-rate")
    try:
        return tax_at_home(tax, rate, home, source=asked.home_rate_source, on=billed.point.on)
    except BadInput as error:
        field = "--home-rate-source" if error.field.endswith("source") else "--home-rate"
        raise BadInput(wanted=error.wanted, got=error.got, field=field) from None


def _terms_in_words(words: Wording, terms: Terms) -> str:
    """How long the client has to pay, in the client's language."""
    if terms.days == 0:
        return words.say("terms.month_end" if terms.counted_in == "days_after_month_end" else "terms.at_once")
    return words.say(f"terms.{terms.counted_in}{'_one' if terms.days == 1 else ''}", days=str(terms.days))


def _evidence(client: Client, home: str) -> str:
    """What shows that a client abroad is a business, as it was known when the invoice was issued."""
    if client.country == home or not client.business:
        return ""
    return client.business_evidence or (f"VAT number {client.tax_number}" if client.tax_number else "")


def quoted_by_section(quote: Mapping[str, Any]) -> dict[str, Money]:
    """The quote's net by section."""
    currency = quote["currency"]
    names = dict.fromkeys(line["section"] for line in quote["lines"])
    return {
        name: total((Money(line["amount"], currency) for line in quote["lines"] if line["section"] == name), currency)
        for name in names
    }
