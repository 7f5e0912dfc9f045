"""Which rule a refusal about an invoice names: that of the studio's own country.

Sources: for the United Kingdom the Value Added Tax Regulations 1995 (SI 1995/2518) and the notices of HMRC; for
Germany the Umsatzsteuergesetz (UStG) and its regulation (UStDV), paragraphs from memory of the published statute;
for every other country of the European Union Directive 2006/112/EC, which its own law follows.
"""

from __future__ import annotations

from typing import Final

from bizkit.domain.tables.vat_area import EU

#: topic -> the rule in the United Kingdom, in Germany, in the European Union.
_RULES: Final[dict[str, tuple[str, str, str]]] = {
    "number": ("reg 14(1)(a)", "UStG § 14 Abs. 4 Nr. 4", "art. 226(2)"),
    "tax_point": ("reg 14(1)(b)", "UStG § 14 Abs. 4 Nr. 6", "art. 226(7)"),
    "issued_on": ("reg 14(1)(c)", "UStG § 14 Abs. 4 Nr. 3", "art. 226(1)"),
    "supplier": ("reg 14(1)(d)", "UStG § 14 Abs. 4 Nr. 1", "art. 226(5)"),
    "supplier_number": ("reg 14(1)(d)", "UStG § 14 Abs. 4 Nr. 2", "art. 226(3)"),
    "supplier_vat_number": ("VATA 1994 s. 8", "UStG § 14a Abs. 1 Satz 3", "art. 226(3)"),
    "customer": ("reg 14(1)(e)", "UStG § 14 Abs. 4 Nr. 1", "art. 226(5)"),
    "customer_number": ("Directive 2006/112/EC art. 226(4)", "UStG § 14a Abs. 1 Satz 3", "art. 226(4)"),
    "service": ("reg 14(1)(g)", "UStG § 14 Abs. 4 Nr. 5", "art. 226(6)"),
    "quantity": ("reg 14(1)(h)", "UStG § 14 Abs. 4 Nr. 5", "art. 226(6)"),
    "unit_price": ("reg 14(1)(m)", "UStG § 14 Abs. 4 Nr. 7", "art. 226(8)"),
    "line_tax": ("reg 14(1)(h)", "UStG § 14 Abs. 4 Nr. 8", "art. 226(9)"),
    "net": ("reg 14(1)(i)", "UStG § 14 Abs. 4 Nr. 7", "art. 226(8)"),
    "home_tax": ("SI 1995/2518 reg 14(1)(l)", "UStG § 16 Abs. 6", "art. 230"),
    "untaxed": ("VAT Notice 700 section 16", "UStG § 14 Abs. 4 Nr. 8, § 14a", "art. 226(11)"),
    "correction": ("reg 15C", "UStG § 14 Abs. 6, UStDV § 31 Abs. 5", "art. 219"),
    "evidence": ("VAT Notice 741A", "UStG § 3a Abs. 2, UStAE 3a.2", "art. 44, Regulation 282/2011 art. 18"),
    "place": ("VATA 1994 s. 7A, VAT Notice 741A", "UStG § 3a Abs. 2", "art. 44"),
    "consumer": ("VATA 1994 s. 7A(2)(b)", "UStG § 3a Abs. 1", "art. 45"),
    "simplified": ("reg 16A", "UStDV § 33", "art. 220a"),
}


def law(country: str, topic: str) -> str:
    """The rule of a country about a topic; empty where none is known.

    >>> law("DE", "supplier_number"), law("IM", "supplier_number"), law("US", "supplier_number")
    ('UStG § 14 Abs. 4 Nr. 2', 'reg 14(1)(d)', '')
    """
    british, german, european = _RULES[topic]
    if country in ("GB", "IM"):
        return british
    if country == "DE":
        return german
    return f"Directive 2006/112/EC {european}" if country in EU or country == "MC" else ""


def bracketed(*rules: str) -> str:
    """The rules that are known, in brackets after a sentence; nothing for none.

    >>> bracketed("", "BT-1"), bracketed("", "")
    (' (BT-1)', '')
    """
    known = [one for one in rules if one]
    return f" ({', '.join(known)})" if known else ""
