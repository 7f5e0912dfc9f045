"""The guide: a page a task, each with the commands it takes. The pages are text files in templates/guide."""

from __future__ import annotations

from typing import Final, TypedDict

from bizkit.domain.errors import NotFound
from bizkit.resources import templates

#: The pages in the order of a job.
PAGES: Final = ("first-quote", "release", "shoot-day", "delivery", "invoice", "year-end")


def list_pages() -> list[dict[str, str]]:
    """Each page with its title and what it is for: its first paragraph."""
    return [{"page": page, "title": title, "about": about} for page, (title, about, _) in _all().items()]


def read_page(page: str) -> GuidePage:
    """One page: title, text, the commands in it. Raises NotFound."""
    if page not in PAGES:
        raise NotFound("page of the guide", page, PAGES, field="PAGE")
    title, about, text = _all()[page]
    return {"page": page, "title": title, "about": about, "text": text, "commands": commands_in(text)}


def commands_in(text: str) -> list[str]:
    """The commands of a page, as typed after the prompt."""
    lines = (line.removeprefix("    $ ") for line in text.splitlines() if line.startswith("    $ "))
    return [line for line in lines if line.startswith("bizkit ")]


def _all() -> dict[str, tuple[str, str, str]]:
    found = {}
    for page in PAGES:
        text = templates().joinpath("guide", f"{page}.md").read_text(encoding="utf-8")
        head, about, _ = text.split("\n\n", 2)
        found[page] = (head.removeprefix("# "), " ".join(about.split()), text)
    return found


class GuidePage(TypedDict):
    """A page of the guide; commands: those in it, in their order."""

    page: str
    title: str
    about: str
    text: str
    commands: list[str]
