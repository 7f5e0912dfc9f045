"""Which languages a studio's papers can be written in: those shipped, and its own templates."""

from __future__ import annotations

from pathlib import Path

from bizkit.domain.inputs.reading import Table
from bizkit.resources import templates


def languages(studio: Path) -> set[str]:
    """The languages that have papers and the words of invoices and mails, shipped or the studio's own."""
    shelves = (templates(), studio / "templates")
    papers = {path.parent.name for shelf in shelves for path in shelf.glob("papers/*/*.xml.j2")}
    return papers & {path.stem for shelf in shelves for path in shelf.glob("wording/*.toml")}


def report_language(at: Table, studio: Path) -> None:
    """Report a language of a studio's or a client's papers that there are none in."""
    said = at.tree.get("language", "")
    if not isinstance(said, str) or not said.strip():
        return
    known, wanted = languages(studio), said.strip()
    if wanted not in known:
        hint = f"Papers in {wanted} need templates/papers/{wanted} and templates/wording/{wanted}.toml in the studio"
        at.problem("language", f"a language there are papers in ({', '.join(sorted(known))})", said, hint)
