"""The whole business on one screen."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.money import Money, total
from bizkit.domain.rights.licence import OVER
from bizkit.services.billing.invoices import InvoiceRow, StageRow
from bizkit.services.quoting.states import QuoteRow
from bizkit.services.rights.holdings import CORRECTED
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.billing.standing import ToInvoice
    from bizkit.services.delivery.archive import PromiseRow
    from bizkit.services.delivery.deliverables import DeliverableRow
    from bizkit.services.delivery.reviews import WaitingRow
    from bizkit.services.rights.clearance import ClearanceRow, ClearanceState
    from bizkit.services.rights.holdings import HoldingRow


def studio_status(folder: StudioFolder, on: date, within: int = 60) -> Status:
    """What is owed to the studio, what it owes, which papers are missing, what ends in the next `within` days.

    Of finished jobs nothing is read: delivered, settled, and their licence over.
    """
    from bizkit.services.billing.invoices import invoice_rows, stage_rows
    from bizkit.services.billing.standing import to_invoice as charges_to_invoice
    from bizkit.services.delivery.archive import promises_ending
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.services.delivery.reviews import waiting_rows
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.quoting.quote_list import open_offers
    from bizkit.services.rights.clearance import clearance_row
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.rights.licences import granted, promised
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.jobs import jobs
    from bizkit.store.unfinished import unfinished

    until = on + timedelta(days=within)
    owed: list[InvoiceRow] = []
    to_invoice: list[ToInvoice | StageToInvoice] = []
    to_credit: list[ToInvoice] = []
    to_pay_back: list[ToPayBack] = []
    due: list[DeliverableRow] = []
    waiting: list[WaitingRow] = []
    missing: list[Missing] = []
    licences: list[LicenceOfJob] = []
    ending: list[PromiseRow] = []
    with folder.book.read() as work, reading_ahead(work, keys := unfinished(work, on, until)):
        rows = [row for key in keys for row in jobs(work, key)]
        grants = [one for row in rows for one in granted(work, job=row.key)] + promised(folder, work, on)
        for job in sorted(rows, key=lambda row: (row.opened_on, row.key)):
            key, currency = job.key, job.currency
            for row in invoice_rows(folder, work, on, key):
                left = Money(row["balance"], currency)
                if left.amount > 0:
                    owed.append(row)
                elif left.amount < 0:
                    to_pay_back.append({**row, "job": key, "sum": (-left).text})
            stages = stage_rows(folder, work, key, on)
            cancelled = cancelled_on(work, key)
            waits = any(not row["invoice"] for row in stages) and not cancelled
            for stage in stages:
                if stage["due"] and not stage["invoice"]:
                    to_invoice.append({**stage, "job": key, "currency": currency})
            charged, back = charges_to_invoice(work, job, stages_left=waits)
            to_invoice += charged
            to_credit += back
            if cancelled:
                stays = clearance_row(folder, work, job, on, grants=grants)
                if stays["state"] in ("live", "at rest"):
                    licences.append(_licence(stays))
                continue
            deliverables = deliverable_rows(folder, work, key, on)
            due += [row for row in deliverables if row["state"] != "approved"]
            waiting += waiting_rows(deliverables)
            ending += promises_ending(work, key, on, until)
            holdings = holding_rows(work, key)
            clearance = clearance_row(folder, work, job, on, grants=grants)
            missing += [{"job": key, "missing": one} for one in clearance["missing"]]
            if clearance["state"] not in ("none", "ended"):
                licences.append(_licence(clearance))
            ending += [
                {
                    "on": row["expires_on"],
                    "job": key,
                    "what": f"{row['kind'].replace('_', ' ')} of {row['subject']}",
                }
                for row in holdings
                if row["status"] != CORRECTED
                and row["expires_on"]
                and on.isoformat() <= row["expires_on"] <= until.isoformat()
            ]
            binds = clearance["state"] not in ("none", *OVER)
            ending += [_of_age(key, row, on) for row in holdings if _grows_up(row, on, until, binds=binds)]
            ending += [
                {"on": one.term.end.isoformat(), "job": key, "what": "the client's licence"}
                for one in grants
                if one.key in (key, clearance["licence"]) and one.term and on <= one.term.end <= until
            ]
        quotes = open_offers(work, on)
    offers: list[OpenOffer] = [
        {**one, "until": f"{'lapsed' if one['state'] == 'lapsed' else 'valid until'} {one['valid_until']}"}
        for one in quotes
    ]
    currencies = dict.fromkeys(row["currency"] for row in owed)
    return {
        "studio": folder.studio.name,
        "practice": folder.studio.practice,
        "on": on.isoformat(),
        "within": within,
        "owed": sorted(owed, key=lambda row: row["due_on"]),
        "owed_totals": [
            {
                "currency": currency,
                "owed": total(
                    (Money(row["balance"], currency) for row in owed if row["currency"] == currency), currency
                ).text,
            }
            for currency in currencies
        ],
        "to_invoice": to_invoice,
        "to_credit": to_credit,
        "to_pay_back": to_pay_back,
        "due": sorted(due, key=lambda row: row["due"] or "9999"),
        "waiting": waiting,
        "quotes": offers,
        "missing": missing,
        "licences": licences,
        "ending": sorted(ending, key=lambda row: row["on"]),
    }


def _grows_up(row: HoldingRow, on: date, until: date, *, binds: bool) -> bool:
    """Whether somebody comes of age soon, or has and was not asked since while a licence binds."""
    day = row["of_age_on"]
    told = bool(day) and row["status"] != CORRECTED and day <= until.isoformat()
    return told and (binds or day >= on.isoformat())


def _of_age(job: str, row: HoldingRow, on: date) -> PromiseRow:
    turns = "turns" if row["of_age_on"] >= on.isoformat() else "turned"
    what = f"{row['subject']} {turns} 18: ask them to confirm paper {row['id']}"
    return {"on": row["of_age_on"], "job": job, "what": what}


def _licence(row: ClearanceRow) -> LicenceOfJob:
    return {"job": row["job"], "licence": row["licence"], "state": row["state"], "cleared": row["cleared"]}


class Status(TypedDict):
    """The whole business on a day, what ends within so many days included."""

    studio: str
    practice: bool
    on: str
    within: int
    owed: list[InvoiceRow]
    owed_totals: list[OwedTotal]
    to_invoice: list[ToInvoice | StageToInvoice]
    to_credit: list[ToInvoice]
    to_pay_back: list[ToPayBack]
    due: list[DeliverableRow]
    waiting: list[WaitingRow]
    quotes: list[OpenOffer]
    missing: list[Missing]
    licences: list[LicenceOfJob]
    ending: list[PromiseRow]


class StageToInvoice(StageRow):
    """A stage of a job that is due and was not invoiced."""

    job: str
    currency: str


class OwedTotal(TypedDict):
    """What is owed in one currency."""

    currency: str
    owed: str


class ToPayBack(InvoiceRow):
    """An invoice of which more was paid than it comes to, and by how much."""

    sum: str


class OpenOffer(QuoteRow):
    """A quote that waits for its answer, and until when it holds."""

    until: str


class Missing(TypedDict):
    """What a job still needs, in words."""

    job: str
    missing: str


class LicenceOfJob(TypedDict):
    """Where the licence of a job stands."""

    job: str
    licence: str
    state: ClearanceState
    cleared: bool
