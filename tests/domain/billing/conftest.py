"""The invented studio and its clients."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.invoice import invoice_document
from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.billing.tax import treatment
from bizkit.domain.money import Money
from bizkit.domain.parties import Client, Studio
from bizkit.domain.registrations import Bank, TaxStatus


@pytest.fixture
def studio():
    return Studio(
        name="Gannet & Lark Films",
        country="GB",
        address=("2 Slipway", "Port Skerrow", "ZE9 9ZZ"),
        email="hello@gannetlark.example",
        phone="01632 960123",
        tax=TaxStatus(registered=True, number="GB980780684"),
        bank=Bank("Gannet & Lark Films", "GB29NWBK60161331926819", "NWBKGB2L", "Example Bank"),
    )


@pytest.fixture
def client():
    return Client(
        key="skerrow",
        name="Skerrow Islands Tourism",
        country="GB",
        contact="Una Flett",
        address=("1 Harbour Street", "Skerrow", "ZE9 1AA"),
        email="accounts@skerrow.example",
    )


@pytest.fixture
def unregistered(studio):
    return replace(studio, tax=TaxStatus())


@pytest.fixture
def issue(studio, client):
    """Issue an invoice of (quantity, unit price) lines at the client's treatment, and whatever else is said."""

    def issue(*pairs, **more):
        currency = more.pop("currency", "GBP")
        on = more.pop("issued_on", date(2027, 5, 10))
        by, to = more.pop("studio", studio), more.pop("client", client)
        how = treatment(by, to, on)
        lines = more.pop("lines", None) or [
            InvoiceLine.under(how, f"Line {row}", Decimal(quantity), "day", Money(rate, currency))
            for row, (quantity, rate) in enumerate(pairs, start=1)
        ]
        details = {
            "number": "GL-2027-0001",
            "issued_on": on,
            "tax_point": on,
            "due_on": date(2027, 6, 9) if on < date(2027, 6, 9) else on,
            "studio": by,
            "client": to,
            "lines": lines,
            "currency": currency,
            "terms": "30 days",
            "title": "Follow the Kelp",
        }
        return invoice_document(**{**details, **more})

    return issue
