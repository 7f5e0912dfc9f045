"""Words that services write into invoices and mails, by language: `templates/wording/LANGUAGE.toml`.

A file of the same name in the studio's own templates folder goes before the shipped one, word by word.
"""

from __future__ import annotations

import re
import string
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bizkit.domain.errors import BadInput, NotFound, problems_of, suggest
from bizkit.resources import templates
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.toml_file import read_toml

_ISO_DAY = re.compile(r"(?<![\w-])[12]\d{3}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])(?![\w-])")


@dataclass(frozen=True, slots=True)
class Wording:
    """The words of one language, and how its reader writes amounts and dates."""

    own: Mapping[str, Any]
    shipped: Mapping[str, Any]
    locale: str
    language: str

    def has(self, path: str) -> bool:
        """Whether there are words under a dotted name such as `mail.reminder_firm.text`."""
        return bool(_at(self.own, path) or _at(self.shipped, path))

    def say(self, path: str, **values: str) -> str:
        """The words under a dotted name, names filled in. Raises BadInput for one that does not exist."""
        text = str(_at(self.own, path) or _at(self.shipped, path))
        try:
            return string.Formatter().vformat(text, (), values)
        except (KeyError, ValueError, IndexError) as error:
            raise BadInput(
                wanted=f"words with the names {', '.join(sorted(values))} in braces",
                got=text,
                field=path,
                where=f"templates/wording/{self.language}.toml",
                hint=f"{error}",
            ) from None

    def money(self, amount: str, currency: str) -> str:
        """An amount as the reader writes it."""
        from bizkit.papers.locale import Drawn

        return Drawn(self.locale, self.language).money(amount, currency).replace("\u00a0", " ")

    def number(self, quantity: str) -> str:
        """A figure as the reader writes it, with the digits it has."""
        from bizkit.papers.locale import Drawn

        drawn = Drawn(self.locale, self.language)
        decimals = len(quantity.partition(".")[2])
        return drawn.figure(quantity, "EUR") if decimals == 2 else drawn.number(quantity)

    def day(self, iso: str) -> str:
        """A day as the reader writes it; nothing for no day."""
        from bizkit.papers.locale import Drawn

        return Drawn(self.locale, self.language).date(iso) if iso else ""

    def dated(self, text: str) -> str:
        """A text whose days (2027-05-11) are written as the reader writes them."""
        return _ISO_DAY.sub(lambda found: self.day(found[0]), text)

    def percent(self, rate: str) -> str:
        """A rate in percent as the reader writes it."""
        from bizkit.papers.locale import Drawn

        return Drawn(self.locale, self.language).percent(rate).replace("\u00a0", " ")


def wording(folder: StudioFolder, language: str, locale: str) -> Wording:
    """The words of a language. Raises NotFound where neither bizkit nor the studio has them."""
    shelf = templates().joinpath("wording")
    own_file = folder.path / "templates" / "wording" / f"{language}.toml"
    own = _tree(own_file) if own_file.is_file() else {}
    shipped_file = shelf.joinpath(f"{language}.toml")
    if not own and not shipped_file.is_file():
        known = [path.stem for path in shelf.iterdir() if path.suffix == ".toml"]
        raise NotFound("language of letters", language, known, field="language")
    base = shipped_file if shipped_file.is_file() else shelf.joinpath("en.toml")
    shipped = _tree(base)
    _refuse_unknown(own, shipped, f"templates/wording/{language}.toml")
    return Wording(own, shipped, locale, language)


def words_of(folder: StudioFolder, document: Mapping[str, Any]) -> Wording:
    """The words of the language a document is in, as its reader writes amounts and dates."""
    return wording(folder, str(document["language"]), str(document["locale"]))


def age_key(age: str) -> str:
    """The key of a column of `domain.billing.debtors.AGES`.

    >>> age_key("1-30"), age_key("over 90")
    ('days_1_30', 'over_90')
    """
    return age.replace(" ", "_") if age[0].isalpha() else f"days_{age.replace('-', '_')}"


def _tree(path: Any) -> dict[str, Any]:
    file = read_toml(path, "words for letters", lines=True)
    problems = []

    def texts(tree: Mapping[str, Any], within: str) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for name, value in tree.items():
            field = f"{within}{name}"
            if isinstance(value, Mapping):
                found[name] = texts(value, f"{field}.")
            elif isinstance(value, str) and value.strip():
                found[name] = value.strip()
            else:
                got = "empty text" if isinstance(value, str) else value
                problems.append(BadInput(wanted="text in quotes", got=got, field=field, where=file.name))
        return found

    read = texts(file.tree, "")
    if problems:
        raise problems_of(problems)
    return read


def _refuse_unknown(own: Mapping[str, Any], shipped: Mapping[str, Any], where: str) -> None:
    """Refuse words that nothing asks for, such as a mistyped name: they would be passed over. Raises Problems."""
    problems = []

    def look(mine: Mapping[str, Any], known: Mapping[str, Any], within: str) -> None:
        for name, value in mine.items():
            said = known.get(name)
            if said is None:
                problems.append(
                    BadInput(
                        wanted="words that bizkit says", got=name, field=within.rstrip("."), where=where,
                        hint=suggest(name, known),
                    )
                )  # fmt: skip
            elif isinstance(value, Mapping) != isinstance(said, Mapping):
                wanted = "a table of words" if isinstance(said, Mapping) else "text in quotes"
                problems.append(BadInput(wanted=wanted, got=value, field=f"{within}{name}", where=where))
            elif isinstance(value, Mapping):
                look(value, said, f"{within}{name}.")

    look(own, shipped, "")
    if problems:
        raise problems_of(problems)


def _at(tree: Mapping[str, Any], path: str) -> str:
    found: Any = tree
    for name in path.split("."):
        found = found.get(name, "") if isinstance(found, Mapping) else ""
    return found if isinstance(found, str) else ""
