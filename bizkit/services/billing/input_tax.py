"""The tax inside a purchase, as it is typed from a bill."""

from __future__ import annotations

from bizkit.domain.billing.tax import tax_within
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of, number_of


def tax_inside(gross: Money, tax: str, tax_rate: str) -> Money:
    """The tax inside `gross` as typed: an amount, or the percent that it holds; none where neither is given.

    Raises BadInput for both, a rate that is none, or more than the whole.
    """
    if tax and tax_rate:
        raise BadInput(wanted="either --tax or --tax-rate", got="both", field="--tax")
    if tax_rate:
        wanted, unfit = "a percent such as 20", "a percent from 0 to 100"
        rate = number_of(tax_rate, field="--tax-rate", wanted=wanted, unfit=unfit, least=0, most=100)
        if rate == 100:
            raise BadInput(wanted=unfit, got=tax_rate, field="--tax-rate")
        if 0 < rate < 1:
            hint = f"{tax_rate} is a part of one percent: write {rate * 100:f} for that part of the whole"
            raise BadInput(wanted=wanted, got=tax_rate, field="--tax-rate", hint=hint)
        return tax_within(gross, rate)
    inside = amount_of(tax, gross.currency, "--tax") if tax else Money(0, gross.currency).rounded()
    if inside and (abs(inside.amount) >= abs(gross.amount) or inside.amount * gross.amount < 0):
        raise BadInput(wanted=f"a part of {gross}", got=inside, hint="Less than all of it", field="--tax")
    return inside
