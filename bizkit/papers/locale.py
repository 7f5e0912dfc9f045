"""Amounts, quantities and dates as the reader's locale writes them. Amounts are never rounded, only long rates."""

from __future__ import annotations

import copy
import re
from datetime import date
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.numbers import NumberPattern

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput
from bizkit.domain.money import decimal, minor_digits, round_half_away


def locale_of(language: str, country: str) -> str:
    """How amounts and dates are written in a language in a country; in the language, where none is known of it there.

    >>> locale_of("de", "CH"), locale_of("de", "GB")
    ('de_CH', 'de')
    """
    try:
        return str(Locale.parse(f"{language}_{country}"))
    except UnknownLocaleError:
        return language


class Drawn:
    """Draws figures and dates for one locale ("en_GB", "de-DE"); country names come in the paper's language."""

    def __init__(self, locale: str, language: str) -> None:
        self.locale = _parse(locale, "locale")
        self.language = _parse(language, "language")

    def money(self, amount: str, currency: str) -> str:
        """`amount` with the currency's own sign and at least its ISO 4217 digits; more where the amount has more."""
        number = decimal(amount)
        digits = minor_digits(currency)
        return self._pattern(
            self.locale.currency_formats["standard"], number, digits, max(digits, _places(number)), currency
        )

    def figure(self, amount: str, currency: str) -> str:
        """As `money`, without the sign of the currency, for columns whose heading says it."""
        number = decimal(amount)
        digits = minor_digits(currency)
        return self._pattern(self.locale.decimal_formats[None], number, digits, max(digits, _places(number)), None)

    def rate(self, amount: str, currency: str) -> str:
        """A rate per unit as a column shows it: at most two decimals more than the currency has."""
        most = minor_digits(currency) + 2
        number = decimal(amount)
        return self.figure(str(round_half_away(number, most) if _places(number) > most else number), currency)

    def number(self, quantity: str) -> str:
        """An exact quantity, every digit of it: "2.5" -> "2,5" in German."""
        number = decimal(quantity)
        return self._pattern(self.locale.decimal_formats[None], number, 0, _places(number), None)

    def percent(self, rate: str) -> str:
        """A rate in percent: "20" -> "20%", "7.5" -> "7,5 %" in German."""
        number = decimal(rate)
        return self._pattern(self.locale.percent_formats[None], number / 100, 0, _places(number), None)

    def share(self, part: str) -> str:
        """A part of one as whole percent, cut and not rounded up: ".9037" -> "90%"."""
        return self.percent(str(int(decimal(part) * 100)))

    def date(self, day: str) -> str:
        """A date in words: "3 March 2027"."""
        return format_date(_day(day), "long", locale=self.locale)

    def weekday(self, day: str) -> str:
        """A date with its weekday, short: "Wed, 3 Mar 2027"."""
        return format_skeleton("yMMMEd", datetime=_day(day), locale=self.locale)

    def short_date(self, day: str) -> str:
        """A date in short words: "3 Mar 2027"."""
        return format_skeleton("yMMMd", datetime=_day(day), locale=self.locale)

    def country(self, code: str) -> str:
        """The country's name in the paper's language; the code itself where none is known."""
        return str(self.language.territories.get(code, code))

    def plural(self, quantity: str) -> str:
        """The plural form that the paper's language uses with `quantity`: "one", "few", "many", "other"..."""
        return str(self.language.plural_form(decimal(quantity)))

    def _pattern(self, pattern: NumberPattern, number: Decimal, least: int, most: int, currency: str | None) -> str:
        own = copy.copy(pattern)
        own.frac_prec = (least, most)
        text = own.apply(number or Decimal(0), self.locale, currency=currency, currency_digits=False)
        text = re.sub(r"(?<=[A-Za-z])(?=[0-9])", "\N{NO-BREAK SPACE}", text)
        return text.replace("-", "\N{MINUS SIGN}")


def _places(number: Decimal) -> int:
    """Decimals that `number` really has: 2.50 -> 1."""
    return max(-int(number.normalize().as_tuple().exponent), 0)


def _day(day: str) -> date:
    return iso_date(day)


def _parse(name: str, field: str) -> Locale:
    try:
        return Locale.parse(name.replace("-", "_"))
    except (UnknownLocaleError, ValueError, TypeError):
        raise BadInput(wanted="a locale such as en_GB or de_DE", got=name, field=field) from None
