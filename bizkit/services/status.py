"""The whole business on one screen."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from bizkit.domain.money import Money, total
from bizkit.services.studio_folder import StudioFolder


def studio_status(folder: StudioFolder, on: date, within: int = 60) -> dict[str, Any]:
    """What is owed to the studio, what it owes, which papers are missing, what ends in the next `within` days."""
    from bizkit.services.deliverables import deliverable_rows
    from bizkit.services.holdings import holding_rows, missing_papers
    from bizkit.services.invoices import invoice_rows, stage_rows
    from bizkit.services.quotes import list_quotes
    from bizkit.store.jobs import jobs, shoot_days

    until = on + timedelta(days=within)
    owed: list[dict[str, Any]] = []
    to_invoice: list[dict[str, Any]] = []
    due: list[dict[str, Any]] = []
    missing: list[dict[str, Any]] = []
    ending: list[dict[str, Any]] = []
    with folder.book.read() as work:
        for job in jobs(work):
            key, currency = job["key"], job["currency"]
            owed += [row for row in invoice_rows(folder, work, on, key) if Money(row["balance"], currency).amount > 0]
            to_invoice += [
                {**row, "job": key, "currency": currency}
                for row in stage_rows(folder, work, key, on)
                if row["due"] and not row["invoice"]
            ]
            due += [row for row in deliverable_rows(folder, work, key, on) if row["state"] != "approved"]
            holdings = holding_rows(work, key)
            missing += [{"job": key, "missing": one} for one in missing_papers(job, shoot_days(work, key), holdings)]
            ending += [
                {
                    "on": row["expires_on"],
                    "job": key,
                    "what": f"{row['kind'].replace('_', ' ')} of {row['subject']}",
                }
                for row in holdings
                if row["expires_on"] and on.isoformat() <= row["expires_on"] <= until.isoformat()
            ]
            licence_ends = (job["licence"] or {}).get("ends", "")
            if licence_ends and on.isoformat() <= licence_ends <= until.isoformat():
                ending.append({"on": licence_ends, "job": key, "what": "the client's licence"})
    quotes = [row for row in list_quotes(folder, on) if row["state"] in ("sent", "lapsed")]
    for row in quotes:
        row["until"] = (
            f"lapsed {row['valid_until']}" if row["state"] == "lapsed" else f"valid until {row['valid_until']}"
        )
    currencies = dict.fromkeys(row["currency"] for row in owed)
    return {
        "studio": folder.studio.name,
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
        "due": sorted(due, key=lambda row: row["due"] or "9999"),
        "quotes": quotes,
        "missing": missing,
        "ending": sorted(ending, key=lambda row: row["on"]),
    }
