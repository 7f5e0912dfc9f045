"""What would stand in the way of an invoice, said while it can still be put right: with the price, the quote, and
before a number is drawn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.billing.contents import no_account
from bizkit.domain.billing.law import bracketed, law
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.tables.vat_area import EU
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.small_business import Turnover
    from bizkit.domain.billing.tax import TaxTreatment
    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.domain.parties import Client

#: From these days a business in Germany bills another one at home electronically: who turned over more than
#: `SMALL_ENOUGH` in the calendar year before, and everybody. Source: UStG § 14 Abs. 2, § 27 Abs. 38, read 2026-11-25
#: (until the end of 2026 paper is allowed; until the end of 2027 up to that turnover). A small
#: business may always use paper (§ 34a UStDV).
E_INVOICE_FROM: Final = date(2027, 1, 1)
E_INVOICE_FROM_ALL: Final = date(2028, 1, 1)
SMALL_ENOUGH: Final = Money(800_000, "EUR")
#: Where a consumer may withdraw from a contract made at a distance, with the law that says so: Directive 2011/83/EU
#: articles 9 and 14 and the law that carries it out; legislation.gov.uk/uksi/2013/3134; numbers from memory.
WITHDRAWAL: Final = {
    "DE": "Widerrufsbelehrung: BGB §§ 312g, 355; the model is in Anlage 1 to EGBGB Art. 246a § 1 Abs. 2",
    "GB": "Consumer Contracts Regulations 2013, SI 2013/3134, regs 29-30, with the model in Schedule 3",
    **dict.fromkeys(EU - {"DE"}, "Directive 2011/83/EU articles 9 and 10, with the model in its Annex I"),
}
#: What the law wants before work begins inside those days, and what the client then pays who withdraws.
_EXPRESS: Final = {"DE": "BGB § 357a Abs. 2", "GB": "reg 36"}


def look_ahead(folder: StudioFolder, client: Client, how: TaxTreatment, on: date) -> list[str]:
    """What an invoice to this client would lack, and what its law asks of a studio beside the invoice."""
    found = [*_numbers(folder, client, how, on), *_sides(folder, client, on), *_consumer(folder, client)]
    return [*found, *_price_with_tax(folder, client), *einvoice_duty(folder, client, on)]


def _numbers(folder: StudioFolder, client: Client, how: TaxTreatment, on: date) -> Iterator[str]:
    studio = folder.studio
    country, own = studio.country, studio.tax.number_on(on, studio.country)
    if how.category == "AE" and not own:
        rule = bracketed(law(country, "supplier_vat_number"))
        yield f"the invoice names your own VAT number{rule}: write number under [tax] in studio.toml before it"
    elif how.category != "O" and not (own or studio.tax.local_number):
        rule = bracketed(law(country, "supplier_number"))
        yield (
            f"no invoice goes out without a tax number{rule}: write number, or local_number, under [tax] of "
            "studio.toml"
        )
    if how.category == "O" and country in EU and client.country in EU and client.country != country:
        rule = bracketed(law(country, "customer_number"))
        yield (
            f"the client accounts for the tax and its VAT number is not known{rule}: write tax_number in "
            f"clients/{client.key}.toml; without it the service cannot be stated to the tax office"
        )


def _sides(folder: StudioFolder, client: Client, on: date) -> Iterator[str]:
    from bizkit.exchange.einvoice.parties import buyer, seller
    from bizkit.exchange.einvoice.xrechnung import for_public_body, party_gaps

    studio = folder.studio
    if not client.postal:
        rule = bracketed(law(studio.country, "customer"))
        yield f"the invoice names the client's address{rule}: write it in clients/{client.key}.toml"
    yield from no_account(studio.data(on))
    yield from no_order(client)
    if studio.bank.names_two:
        yield (
            "[bank] of studio.toml: sort_code and account_number are not those inside iban, so an invoice names two "
            "accounts as one: make them agree"
        )
    if for_public_body(client.buyer_reference, client.country):
        sides = seller(studio.data(on), outside=False), buyer(client.data(), outside=False)
        lacks = list(party_gaps(*sides, client.buyer_reference, account=studio.bank.has_account))
        if lacks:
            yield f"for XRechnung, which a public body wants, the invoice would lack: {'; '.join(lacks)}"


def no_order(client: Client) -> list[str]:
    """A sentence where the client pays no invoice without an order number, and none is known of the job."""
    if not client.wants_order or client.purchase_order:
        return []
    return [
        f"{client.name} pays no invoice without an order number, and this job has none: write purchase_order in its "
        "brief, or say it of the job with bizkit job order"
    ]


def withdrawal(folder: StudioFolder, client: Client) -> str:
    """What a quote tells a consumer of the right to withdraw: the studio's own words (`quote.withdrawal` of its
    wording), empty where it has none or the client needs none."""
    from bizkit.services.studio.wording import wording

    if client.business or client.country not in WITHDRAWAL:
        return ""
    words = wording(folder, client.language or folder.studio.language, client.locale or folder.studio.locale)
    return words.say("quote.withdrawal").removeprefix("-").strip()


def _consumer(folder: StudioFolder, client: Client) -> Iterator[str]:
    law_of = WITHDRAWAL.get(client.country)
    if client.business or law_of is None:
        return
    if not withdrawal(folder, client):
        language = client.language or folder.studio.language
        yield (
            "a consumer who orders at a distance or away from your premises may withdraw for 14 days, and is told "
            f"so with a form to do it ({law_of}); without that the days run for a year longer. The quote says "
            f"nothing of it: write withdrawal under [quote] of templates/wording/{language}.toml in your "
            "studio, in words a lawyer has seen"
        )
    rule = f" ({_EXPRESS[client.country]})" if client.country in _EXPRESS else ""
    yield (
        "to begin inside these 14 days you need the consumer's express request, and their word that they know they "
        f"pay for what is done by then{rule}: ask for both in writing, else a withdrawal leaves you nothing"
    )


def _price_with_tax(folder: StudioFolder, client: Client) -> Iterator[str]:
    if folder.studio.country == client.country == "DE" and not client.business:
        yield "the price to a consumer is the one with tax (PAngV § 3)"


def einvoice_duty(folder: StudioFolder, client: Client, on: date, work: Connection | None = None) -> list[str]:
    """A sentence where the law of Germany wants an invoice of that day to be electronic and the client's file does
    not say so. What was turned over the year before is known as far as this studio's book goes."""
    studio = folder.studio
    if not (studio.country == client.country == "DE" and client.business) or client.einvoice:
        return []
    if on < E_INVOICE_FROM or not studio.tax.registered_on(on):
        return []
    why = "UStG § 14 Abs. 2, § 27 Abs. 38"
    if on < E_INVOICE_FROM_ALL:
        if work is None:
            with folder.book.read() as work:
                return einvoice_duty(folder, client, on, work)
        before = _turned_over(work, on.year - 1)
        if before <= SMALL_ENOUGH:
            return []
        why = f"{why}: you turned over {before} in {on.year - 1}, more than {SMALL_ENOUGH}"
    return [f"invoices to a business at home are electronic ({why}): write einvoice in clients/{client.key}.toml"]


def _turned_over(work: Connection, year: int) -> Money:
    """Net of the euro invoices less credit notes of a calendar year, by their day of issue."""
    from bizkit.store.register import bills

    found = [one for one in bills(work) if one.currency == "EUR" and one.issued_on.startswith(f"{year}-")]
    minor = sum(one.net_minor if one.kind == "invoice" else -one.net_minor for one in found)
    return Money.from_minor(minor, "EUR")


def looks_at_invoice(
    folder: StudioFolder, work: Connection, document: BillOnFile, client: Client, on: date, reason: str
) -> list[str]:
    """What to say of an invoice about to be issued: its electronic form, and a small business's exemption.

    Raises RuleBroken as `check_einvoice` and `check_small_business`.
    """
    looks = [*check_einvoice(document, client, reason), *einvoice_duty(folder, client, on, work)]
    looks += [] if document["purchase_order"] else no_order(client)
    if any(tax["category"] == "E" for tax in document["taxes"]):
        turnover = small_business(folder, work, on, Money(document["due"], document["currency"]))
        looks += check_small_business(turnover, reason)
    return looks


def check_einvoice(document: Mapping[str, Any], client: Client, reason: str) -> list[str]:
    """What to say of the electronic form of an invoice about to be issued.

    Raises RuleBroken where it is for a public body and lacks what an XRechnung names, unless a reason is given: once
    issued it can never become one.
    """
    from bizkit.exchange.einvoice.claim import claim
    from bizkit.exchange.einvoice.xrechnung import for_public_body

    if not for_public_body(document["buyer_reference"], document["client"]["country"]):
        return _hybrid(client)
    lacks = claim(document, "cii" if client.einvoice == "cii" else "ubl").xrechnung_gaps
    if lacks and not reason.strip():
        raise RuleBroken(
            f"{client.name} wants an XRechnung, and this invoice would lack: {'; '.join(lacks)}. Write it in "
            f"studio.toml or clients/{client.key}.toml (then bizkit job client {document['job']}): what is issued "
            "never changes. Or say --reason to issue it all the same"
        )
    told = [f"it is no XRechnung and cannot become one, it lacks: {'; '.join(lacks)}"] if lacks else []
    if client.einvoice not in ("ubl", "cii"):
        told.append(f'a public body wants XML: write einvoice = "ubl" in clients/{client.key}.toml')
    return told + _hybrid(client)


def _hybrid(client: Client) -> list[str]:
    from importlib.util import find_spec

    if client.einvoice == "hybrid" and find_spec("pikepdf") is None:
        return ["its client wants XML inside the PDF, which needs pikepdf: pip install 'bizkit[einvoice]'"]
    return []


def small_business(folder: StudioFolder, work: Connection, on: date, coming: Money) -> Turnover | None:
    """What a German small business has taken in so far; None for any other studio. coming: what is asked for now."""
    from bizkit.domain.billing.small_business import Turnover
    from bizkit.store.issued import each_document
    from bizkit.store.payments import payments

    studio = folder.studio
    if studio.country != "DE" or studio.tax.registered_on(on) or coming.currency != "EUR":
        return None
    exempt = {
        one["number"]: one
        for one in each_document(work, "invoice")
        if one["currency"] == "EUR" and any(tax["category"] == "E" for tax in one["taxes"])
    }
    sums = {on.year - 1: Money(0, "EUR"), on.year: Money(0, "EUR")}
    came = [(one.received_on.year, one.amount) for one in payments(work) if one.invoice in exempt]
    came += [
        (date.fromisoformat(one["deposit"]["received_on"]).year, Money(one["prepaid"], "EUR"))
        for one in exempt.values()
        if one.get("deposit")
    ]
    for year, amount in came:
        if year in sums:
            sums[year] = sums[year] + amount
    return Turnover(on.year, sums[on.year - 1].rounded(), sums[on.year].rounded(), coming.rounded())


def small_business_looks(folder: StudioFolder, how: TaxTreatment, on: date, quote: Mapping[str, Any]) -> list[str]:
    """What a quote without tax would do to the exemption of a German small business, once it is paid."""
    if how.category != "E" or folder.studio.country != "DE":
        return []
    with folder.book.read() as work:
        found = small_business(folder, work, on, Money(quote["gross"], quote["currency"]))
    return [one for one in (found.over, found.near) if one] if found else []


def check_small_business(found: Turnover | None, reason: str) -> list[str]:
    """What to say of it before an exempt invoice is issued. Raises RuleBroken where the exemption has ended and no
    reason is given."""
    if found is None:
        return []
    if found.over and not reason.strip():
        raise RuleBroken(
            f"{found.over}: the exemption of small businesses has ended (UStG § 19 Abs. 1), and this invoice would "
            "go out without tax that you owe: write registered = true and registered_from under [tax] of "
            "studio.toml, or say --reason where your tax adviser says otherwise"
        )
    return [one for one in (found.over, found.near) if one]
