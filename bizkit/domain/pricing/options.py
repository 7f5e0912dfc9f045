"""Options in one offer: choices (A, B or C, one of which is taken) and add-ons (any of them), priced side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.pricing.brief import Brief, Option


def choices(brief: Brief) -> tuple[Option, ...]:
    """The options of which exactly one is taken."""
    return tuple(option for option in brief.options.values() if option.kind == "choice")


def addons(brief: Brief) -> tuple[Option, ...]:
    """The options of which any may be taken."""
    return tuple(option for option in brief.options.values() if option.kind == "addon")


def choose(brief: Brief, keys: Sequence[str]) -> Brief:
    """The brief with these options taken and no option left open.

    Raises NotFound for an unknown key, BadInput unless exactly one of the choices is among them.
    """
    picked: list[Option] = []
    for key in keys:
        if key not in brief.options:
            raise NotFound("option", key, brief.options, field="options", where=brief.where)
        if brief.options[key] not in picked:
            picked.append(brief.options[key])
    open_choices = choices(brief)
    taken = [option for option in picked if option.kind == "choice"]
    if open_choices and len(taken) != 1:
        names = ", ".join(option.key for option in open_choices)
        got = ", ".join(option.key for option in taken) or "none of them"
        raise BadInput(wanted=f"exactly one of {names}", got=got, field="options", where=brief.where)
    parts = brief.parts
    for option in picked:
        parts = parts.with_option(option.parts)
    return replace(brief, parts=parts, options={}, chosen=tuple(option.key for option in picked))


def chosen_brief(brief: Brief) -> Brief:
    """The brief as priced when nothing is chosen yet: the first choice, no add-on."""
    if not brief.options:
        return brief
    return choose(brief, [option.key for option in choices(brief)[:1]])
