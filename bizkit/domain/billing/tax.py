"""Which tax an invoice bears, and how much of it per category.

The category is one letter code of EN 16931 (UNTDID 5305): S taxed, Z zero rate, E exempt, AE reverse charge,
O outside the scope, G export, K supply within the European Union (goods).

Rules
* Services to a business are supplied where the business belongs: VAT Act 1994 s. 7A(2)(a) and VAT Notice 741A;
  Directive 2006/112/EC article 44. No tax of the studio's country; keep evidence that the client is a business.
* Services to a consumer are supplied where the studio belongs: s. 7A(2)(b); article 45. Licences of copyright to
  consumers in other countries may differ (Schedule 4A para 16; article 59): ask an accountant.
* Between two countries of the European Union, and between one of them and the United Kingdom, the client accounts
  for the tax; the invoice says so: article 226(11a) and article 196; VAT Act 1994 s. 8.
* Tax is worked out once per category and rate on the sum of its rounded lines: EN 16931 BR-CO-17. A part whose tax is
  stated elsewhere keeps it: an earlier invoice that is taken off goes with the tax it states, and of money that came
  the tax is what is inside. Only roundings differ by that (`tax_of_parts`), which the published tests of the rule let
  pass: they tolerate less than one unit of the currency (CEN validation artefacts 1.3.16, BR-CO-17 and BR-S-09).

* A business that is not registered: in the European Union its supplies at home are exempt (Directive 2006/112/EC
  article 284; in Germany section 19 UStG), which is category E; what it supplies to a business abroad is no supply at
  home and goes as for everybody (article 44). In the United Kingdom all of it is outside the tax, category O.
  No rule names the British case (EN 16931 BR-E-02 and BR-O-02, read 2026-11-25: E needs a tax number, O forbids one).

None of this is tax advice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Final

from bizkit.domain.billing.law import bracketed, law
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, percent, plain, total
from bizkit.domain.parties import Client, Studio
from bizkit.domain.tables.tax_rates import REDUCED_RATES, STANDARD_RATES, WITHOUT_TAX, Step, rate_on
from bizkit.domain.tables.vat_area import in_eu

#: Categories in the order they are printed.
CATEGORIES: Final = ("S", "Z", "E", "AE", "K", "G", "O")
#: Categories under which no tax is charged and the reason must be said (EN 16931 BR-E-10, BR-AE-10, BR-O-10...).
NEEDS_NOTE: Final = ("E", "AE", "K", "G", "O")
#: Kinds of supply a line can be, where the whole invoice is a domestic one.
KINDS: Final = ("standard", "reduced", "zero", "exempt")

#: Places whose tax is that of a neighbour: Isle of Man Act 1979 s. 6; Directive 2006/112/EC article 7.
TAXED_AS: Final[dict[str, str]] = {"IM": "GB", "MC": "FR"}

#: Says why no tax is charged: a name of `REASONS` and the tax or its scope -> wording in the reader's language.
Say = Callable[..., str]

#: The usual wordings in English.
REASONS: Final[dict[str, str]] = {
    "no_tax": "No {tax} is charged",
    "not_registered": "No {tax} charged: the supplier is not registered for {tax}",
    "small_business": "Exempt from {tax}: small enterprise (Directive 2006/112/EC article 284)",
    "small_business_de": "Exempt from {tax}: small enterprise under section 19 of the German VAT Act (UStG)",
    "reverse_charge": "Reverse charge: the customer is to account for {tax}",
    "outside_scope": "Outside the scope of {scope}: supplied where the customer belongs",
    "outside_scope_de": "Not taxable in Germany, section 3a(2) of the German VAT Act (UStG): supplied where the "
    "customer belongs",
}


def in_english(name: str, **values: str) -> str:
    """One of `REASONS` with its names filled in.

    >>> in_english("reverse_charge", tax="VAT")
    'Reverse charge: the customer is to account for VAT'
    """
    return REASONS[name].format(**values)


NO_ADVICE: Final = "This is no tax advice: have it checked by an accountant."


@dataclass(frozen=True, slots=True)
class TaxTreatment:
    """How a supply is taxed. rate: percent. note: wording for the invoice, empty where tax is charged.

    rule: the reason, with its source, for the person who asks why.
    """

    category: str
    name: str
    rate: Decimal
    note: str
    rule: str

    def of_kind(self, kind: str, studio: Studio, on: date, note: str = "") -> TaxTreatment:
        """The treatment of one line that is not of the standard rate; only a domestic supply has such lines.

        kind: one of `KINDS`. note: the wording for an exempt line. Raises BadInput and RuleBroken.
        """
        if kind not in KINDS:
            raise BadInput(wanted=f"one of {', '.join(KINDS)}", got=kind, field="tax")
        if kind == "standard" or self.category != "S":
            return self
        if kind == "reduced":
            return replace(self, rate=reduced_rate(studio, on), rule=f"Reduced rate of {studio.country}")
        if kind == "zero":
            return replace(self, category="Z", rate=Decimal(0), rule="Zero rate")
        if not note:
            raise RuleBroken("an exempt line must say why it is exempt: add the wording (EN 16931 BR-E-10)")
        return replace(self, category="E", rate=Decimal(0), note=note, rule="Exempt supply")


def standard_rate(studio: Studio, on: date) -> Decimal:
    """Percent in force on that day: the studio's own setting, else the dated table. Raises BadInput for neither."""
    return _rate("standard", studio.tax.standard_rate, STANDARD_RATES, studio, on)


def reduced_rate(studio: Studio, on: date) -> Decimal:
    """As `standard_rate`, for the reduced rate."""
    return _rate("reduced", studio.tax.reduced_rate, REDUCED_RATES, studio, on)


def _rate(kind: str, own: Decimal | None, table: Mapping[str, tuple[Step, ...]], studio: Studio, on: date) -> Decimal:
    if own is not None:
        return own
    found = rate_on(table.get(TAXED_AS.get(studio.country, studio.country), ()), on)
    if found is None:
        raise BadInput(
            wanted=f"a {kind} {studio.tax.name} rate of {studio.country} on {on}",
            got="none in the table",
            field=f"tax.{kind}_rate",
            where="studio.toml",
            hint=f"Write {kind}_rate there",
        )
    return found


def treatment(studio: Studio, client: Client, on: date, say: Say = in_english) -> TaxTreatment:
    """How the studio's services to this client are taxed on that day (the tax point). say: words the reason where
    no tax is charged, unless the studio has its own wording.

    Raises RuleBroken for a business abroad without evidence that it is one, BadInput where the rate is not known.
    """
    name = studio.tax.name
    home = TAXED_AS.get(studio.country, studio.country)
    away = TAXED_AS.get(client.country, client.country)
    registered = studio.tax.registered_on(on)
    if client.business and home != away and (registered or in_eu(home, on)):
        return _business_abroad(studio, client, home, away, on, say)
    if not registered:
        return _not_registered(studio, on, say)
    if home == away:
        return TaxTreatment(
            "S", name, standard_rate(studio, on), "", f"supplied within {home}: standard rate on {on}"
        )
    where = bracketed(law(studio.country, "consumer"))
    rule = (
        f"services to a consumer are supplied where the studio belongs{where}; licences of copyright to consumers "
        "abroad may differ"
    )
    return TaxTreatment("S", name, standard_rate(studio, on), "", rule)


def _business_abroad(studio: Studio, client: Client, home: str, away: str, on: date, say: Say) -> TaxTreatment:
    """No tax of the studio's country, whether the studio charges any at home or not.

    Between two countries of the Union the invoice says that the client accounts for the tax, also where the client's
    number is not known (UStG § 14a Abs. 1 Satz 2); the norm then allows no category but O (EN 16931 BR-AE-02).
    """
    name, country = studio.tax.name, studio.country
    place = law(country, "place")
    both_account = _reverse_charges(home, on) and _reverse_charges(away, on)
    reverse = studio.tax.reverse_charge_note or say("reverse_charge", tax=name)
    if both_account and client.tax_number:
        rule = (
            "services to a business are taxed at the customer, who accounts for the tax"
            f"{bracketed(place, 'Directive 2006/112/EC art. 44, 196')}"
        )
        return TaxTreatment("AE", name, Decimal(0), reverse, rule)
    if not client.business_evidence:
        wanted = "its VAT number or business_evidence" if both_account else "business_evidence"
        raise RuleBroken(
            f"{client.name} is abroad ({client.country}) and nothing shows that it is a business: write {wanted} in "
            f"clients/{client.key}.toml, note it with bizkit evidence add {client.key}, or write business = false to "
            f"bill it as at home{bracketed(law(country, 'evidence'))}"
        )
    if country == "DE":
        note = studio.tax.outside_scope_note or say("outside_scope_de")
    else:
        note = studio.tax.outside_scope_note or say("outside_scope", scope=f"{'UK' if home == 'GB' else home} {name}")
    if in_eu(home, on) and in_eu(away, on):
        note = f"{reverse}. {note}"
    rule = f"services to a business are supplied where it belongs{bracketed(place)}"
    return TaxTreatment("O", name, Decimal(0), note, rule)


def _not_registered(studio: Studio, on: date, say: Say) -> TaxTreatment:
    name, country = studio.tax.name, studio.country
    category, reason, rule = "O", "not_registered", f"studio not registered for {name} on {on}"
    if country in WITHOUT_TAX:
        reason, rule = "no_tax", f"{country} has no value added tax"
    elif in_eu(country, on):
        category, reason = "E", "small_business_de" if country == "DE" else "small_business"
        rule = f"{rule}: its supplies at home are exempt (Directive 2006/112/EC art. 284)"
    return TaxTreatment(category, name, Decimal(0), studio.tax.note or say(reason, tax=name), rule)


def _reverse_charges(country: str, on: date) -> bool:
    return country == "GB" or in_eu(country, on)


@dataclass(frozen=True, slots=True)
class TaxLine:
    """Tax of one category and rate: `amount` is `rate` percent of `base`, see `tax_of_parts`."""

    category: str
    name: str
    rate: Decimal
    base: Money
    amount: Money
    note: str = ""

    def data(self) -> dict[str, str]:
        """The entry of a document's `taxes`."""
        return {
            "category": self.category,
            "name": self.name,
            "rate": plain(self.rate),
            "base": self.base.text,
            "amount": self.amount.text,
            "note": self.note,
        }


@dataclass(frozen=True, slots=True)
class Taxed:
    """An amount and how it is taxed: a line, or (negative) an allowance. `amount` is rounded.

    stated: its tax where it is stated elsewhere, None where it is the rate on the sum of all such parts.
    """

    category: str
    rate: Decimal
    amount: Money
    note: str = ""
    stated: Money | None = None

    @classmethod
    def by(cls, how: TaxTreatment, amount: Money) -> Taxed:
        """`amount` under a treatment."""
        return cls(how.category, how.rate, amount, how.note)


def tax_lines(taxed: Iterable[Taxed], currency: str, *, name: str = "VAT") -> tuple[TaxLine, ...]:
    """Tax per category and rate on the sums of rounded amounts, highest rate of S first.

    Raises BadInput for an unknown category; RuleBroken for a rate where none may be, a missing note, or a supply
    outside the scope mixed with others (EN 16931 BR-O-11 to BR-O-14 allow no mix).

    >>> [line.amount.text for line in tax_lines([Taxed("S", Decimal(14), Money("2141.05", "EUR"))], "EUR")]
    ['299.75']
    """
    parts: dict[tuple[str, Decimal], list[Taxed]] = {}
    notes: dict[str, str] = {}
    for part in taxed:
        if part.category not in CATEGORIES:
            raise BadInput(wanted=f"a tax category of {', '.join(CATEGORIES)}", got=part.category, field="category")
        rate = decimal(part.rate)
        if (part.category == "S") != (rate > 0):
            raise RuleBroken(
                f"category {part.category} at {plain(rate)} %: only S has a rate, and always (EN 16931 BR-S-5)"
            )
        rate = rate.normalize()
        parts.setdefault((part.category, rate), []).append(part)
        if part.note:
            notes.setdefault(part.category, part.note)
    categories = {category for category, _ in parts}
    if "O" in categories and len(categories) > 1:
        raise RuleBroken(
            "an invoice outside the scope of tax cannot bear taxed lines too: issue two invoices (EN 16931 BR-O-11)"
        )
    for category in categories:
        if category in NEEDS_NOTE and not notes.get(category):
            raise RuleBroken(
                f"category {category} charges no tax: say why on the invoice (EN 16931 BR-{category}-10)"
            )
    return tuple(
        TaxLine(
            category,
            name,
            rate,
            total((part.amount.rounded() for part in alike), currency),
            tax_of_parts(alike, rate, currency),
            notes.get(category, ""),
        )
        for (category, rate), alike in sorted(
            parts.items(), key=lambda item: (CATEGORIES.index(item[0][0]), -item[0][1])
        )
    )


def tax_of_parts(parts: Sequence[Taxed], rate: Decimal, currency: str) -> Money:
    """The tax of parts of one category and rate: `rate` percent of those that state none, and what the others state.

    So an invoice that takes others off comes to the tax of the whole less what those state, to the penny. That is the
    rate on the sum of all but for roundings: one minor unit at most for each part that states its tax, less than one
    unit of the currency in all, and never so that nothing but tax is given back. Whatever differs by more is no
    rounding, and the tax is the rate on the sum.

    >>> whole = Taxed("S", Decimal(20), Money("100.03", "GBP"))
    >>> first = Taxed("S", Decimal(20), Money("-50.02", "GBP"), stated=Money("-10.00", "GBP"))
    >>> tax_of_parts([whole, first], Decimal(20), "GBP"), tax_of_parts([whole], Decimal(20), "GBP")
    (Money('10.01', 'GBP'), Money('20.01', 'GBP'))
    """
    base = total((part.amount.rounded() for part in parts), currency)
    stated = [part.stated for part in parts if part.stated is not None]
    usual = percent(base, rate)
    own = total((part.amount.rounded() for part in parts if part.stated is None), currency)
    tax = (percent(own, rate) + total(stated, currency)).rounded()
    differs = abs(tax.minor - usual.minor)
    rounding = differs <= len(stated) and abs(tax.amount - base.amount * rate / 100) < 1
    return tax if rounding and (base.amount or tax.amount >= 0) else usual


def tax_total(lines: Iterable[TaxLine], currency: str) -> Money:
    """All tax of an invoice: the sum of its rounded lines (EN 16931 BR-CO-14)."""
    return total((line.amount for line in lines), currency)


def tax_within(gross: Money, rate: Decimal) -> Money:
    """The tax contained in an amount that includes it: at 20 % one sixth.

    Source: archived HMRC page "Calculating VAT"; VAT Act 1994 s. 19(2).

    >>> tax_within(Money("120", "GBP"), Decimal(20))
    Money('20.00', 'GBP')
    """
    return Money(gross.amount * rate / (100 + rate), gross.currency).rounded()
