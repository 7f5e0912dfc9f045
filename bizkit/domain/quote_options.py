"""The options of a quote as data: every choice and add-on priced side by side, for the document and its paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from bizkit.domain.billing.tax import Taxed, TaxTreatment, tax_lines, tax_total
from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.offer import Offer, OptionPrice


def option_members(offer: Offer, how: TaxTreatment) -> list[dict[str, Any]]:
    """One entry an option, choices first: what the whole job costs with it, by section, and what it adds.

    `difference` and `difference_gross`: more (or less) than the quote as it stands, which holds the first choice and
    no add-on. Amounts are text.
    """
    base = _gross(offer.base.net, how)
    return [_member(option, how, base) for option in (*offer.choices, *offer.addons)]


def open_choices(document: Mapping[str, Any]) -> list[str]:
    """Keys of the choices a quote leaves open; one of them has to be taken when it is accepted."""
    return [option["key"] for option in document.get("options", ()) if option["kind"] == "choice"]


def check_answer(document: Mapping[str, Any], options: Sequence[str], name: str) -> None:
    """Refuse an acceptance that leaves a choice open (RuleBroken), or takes what was not offered (NotFound)."""
    choices = open_choices(document)
    known = [option["key"] for option in document.get("options", ())]
    for key in options:
        if key not in known:
            raise NotFound("option of the quote", key, known, field="--option", where=name)
    if choices and not any(key in choices for key in options):
        raise RuleBroken(
            f"{name} leaves a choice open: {', '.join(choices)}: say which was taken with --option, "
            "and add-ons with one --option each"
        )


def _member(priced: OptionPrice, how: TaxTreatment, base_gross: Money) -> dict[str, Any]:
    option, estimate = priced.option, priced.estimate
    gross = _gross(estimate.net, how)
    return {
        "key": option.key,
        "kind": option.kind,
        "title": option.title,
        "summary": option.summary,
        "net": estimate.net.text,
        "tax": (gross - estimate.net).text,
        "gross": gross.text,
        "difference": priced.difference.text,
        "difference_gross": (gross - base_gross).text,
        "sections": {name: amount.text for name, amount in estimate.section_totals().items()},
        "deliverables": [
            {"title": one.title, "quantity": one.quantity, "spec": one.spec} for one in option.parts.deliverables
        ],
        "days": [
            {"date": day.date.isoformat() if day.date else "", "count": day.count, "kind": day.kind}
            for day in option.parts.days
        ],
        "licence": option.parts.licence.data() if option.parts.licence else None,
        "warnings": list(estimate.warnings),
    }


def _gross(net: Money, how: TaxTreatment) -> Money:
    return net + tax_total(tax_lines([Taxed.by(how, net)], net.currency, name=how.name), net.currency)
