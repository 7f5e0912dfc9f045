"""Every error bizkit raises on purpose, as one tree.

    BizkitError               one clear line for the person at the keyboard
    +-- BadInput              what was typed or written in a file is wrong      (exit code 2)
    |   +-- NotFound          a name that nothing answers to
    |   +-- Problems          several things wrong in one file, a line each
    +-- RuleBroken            the input is fine, but a rule of the trade forbids it (exit code 1)

Anything else that escapes is a bug.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence


class BizkitError(Exception):
    """Base of all. `str(error)` is one line that says what to do."""

    exit_code = 1


class BadInput(BizkitError):
    """Input that cannot be used: says where, which field, what was wanted, what came, and what to do.

    >>> print(BadInput(wanted="a whole number of days", got="-2", field="crew.editor.days", where="brief.toml"))
    brief.toml: crew.editor.days: wanted a whole number of days, got -2
    """

    exit_code = 2

    def __init__(
        self,
        *,
        wanted: str,
        got: object,
        field: str = "",
        where: str = "",
        hint: str = "",
    ) -> None:
        self.where = where
        self.field = field
        self.wanted = wanted
        self.got = one_line(got)
        self.hint = hint
        place = ": ".join(part for part in (where, field) if part)
        line = f"wanted {wanted}, got {self.got}"
        if place:
            line = f"{place}: {line}"
        if hint:
            line = f"{line}. {hint}"
        super().__init__(line)


class NotFound(BadInput):
    """A name nothing answers to; suggests the nearest known one.

    >>> print(NotFound("role", "edtor", ["editor", "director"], field="crew.role", where="brief.toml"))
    brief.toml: crew.role: wanted a known role, got edtor. Did you mean editor?
    """

    def __init__(
        self, kind: str, got: object, known: Iterable[str], *, field: str = "", where: str = "", hint: str = ""
    ) -> None:
        super().__init__(
            wanted=f"a known {kind}", got=got, field=field, where=where, hint=hint or suggest(got, known)
        )


class Problems(BadInput):
    """Everything that is wrong in one file, in the order it was found; a line each."""

    def __init__(self, problems: Sequence[BadInput]) -> None:
        first = problems[0]
        super().__init__(wanted=first.wanted, got=first.got, field=first.field, where=first.where, hint=first.hint)
        self.problems = tuple(problems)
        self.args = ("\n".join(str(problem) for problem in problems),)


def problems_of(found: Sequence[BadInput]) -> BadInput:
    """What to raise for one problem or several."""
    return found[0] if len(found) == 1 else Problems(found)


class RuleBroken(BizkitError):
    """The input is well formed, but a rule says no. The line names the rule and the way out."""

    exit_code = 1


def suggest(got: object, known: Iterable[str]) -> str:
    """The nearest known name as a sentence, or the list of known names when none is near.

    >>> suggest("divemaster", ["dive_safety", "editor"])
    'Known: dive_safety, editor'
    """
    names = sorted(known)
    near = difflib.get_close_matches(str(got), names, n=1, cutoff=0.6)
    if near:
        return f"Did you mean {near[0]}?"
    if not names:
        return "There are none yet"
    shown = ", ".join(names[:12])
    return f"Known: {shown}" + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def meant(got: object, known: Iterable[str]) -> str:
    """The nearest known name as a sentence, nothing where none is near: for names that are too many to list.

    >>> meant("film_v1.mov", ["film-v1.mov", "notes.txt"]), meant("x", ["notes.txt"])
    ('Did you mean film-v1.mov?', '')
    """
    near = difflib.get_close_matches(str(got), sorted(known), n=1, cutoff=0.7)
    return f"Did you mean {near[0]}?" if near else ""


def one_line(value: object, limit: int = 120) -> str:
    """`value` on one line, control characters made visible, cut at `limit`.

    >>> one_line("a\\nb")
    'a b'
    """
    text = "".join(ch if ch.isprintable() else " " for ch in str(value)).strip()
    text = " ".join(text.split()) or "nothing"
    return text if len(text) <= limit else text[: limit - 1] + "…"
