"""The studio folder: where it is, and what stands in it.

studio.toml        the studio's details           clients/KEY.toml    who commissions
rate-card.toml     what the studio charges        briefs/*.toml       what one shoot needs
book.sqlite        the records                    papers/             issued PDFs and signed scans
templates/         the studio's own wording, optional
specs/*.toml       the studio's own delivery specs, optional
jobs/KEY.toml      shots, storage and steps of a job, optional
"""

from __future__ import annotations

import getpass
import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, BizkitError, NotFound, suggest
from bizkit.domain.how_many import how_many
from bizkit.domain.inputs.reading import Table, read_input
from bizkit.domain.names import as_key
from bizkit.domain.parties import Client, Studio
from bizkit.domain.plain_text import check_text
from bizkit.services.studio.file_kind import read_as
from bizkit.services.studio.toml_file import TomlFile, read_toml

if TYPE_CHECKING:
    from bizkit.domain.dates import DayOff
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.rights.media import MediaTree
    from bizkit.domain.work.spec import Spec
    from bizkit.store.book import Book
    from bizkit.store.stamp import Stamp

#: The file that makes a folder a studio.
MARK = "studio.toml"
#: The book where it is a file of the studio, and what may lie beside it while it is open or after a crash.
BOOK = "book.sqlite"
BESIDE_BOOK = ("-wal", "-shm", "-journal")


@dataclass
class StudioFolder:
    """A studio on disk. Everything in it is read when first asked for.

    who: the person at work. reason: why, where they said so; an act dated after today needs it.
    """

    path: Path
    who: str = field(default_factory=lambda: os.environ.get("BIZKIT_WHO") or _user())
    reason: str = ""

    @classmethod
    def find(cls, explicit: Path | None = None, near: Path | None = None) -> StudioFolder:
        """The studio at `explicit`, else at BIZKIT_STUDIO, else here or in the nearest folder above.

        near: a file of a studio that the command names, above which it is looked for where there is none here.
        Raises BadInput when there is none.
        """
        named = explicit or (Path(os.environ["BIZKIT_STUDIO"]) if os.environ.get("BIZKIT_STUDIO") else None)
        if named is not None:
            if not (named / MARK).is_file():
                raise BadInput(
                    wanted=f"a studio folder (one with {MARK})",
                    got=named,
                    field="--studio",
                    hint="Make one with: bizkit init FOLDER",
                )
            return cls(named.resolve())
        here = Path.cwd()
        beside = (here / near).parent.resolve() if near is not None and (here / near).is_file() else here
        for folder in (here, *here.parents, beside, *beside.parents):
            if (folder / MARK).is_file():
                return cls(folder)
        raise BadInput(
            wanted=f"a studio folder (one with {MARK}) here or above",
            got=here,
            hint="Make one with: bizkit init FOLDER, or name one with --studio",
        )

    @cached_property
    def studio(self) -> Studio:
        """The studio's details. Raises BadInput, also for a wrong IBAN or tax number."""
        file = read_toml(self.path / MARK, "the studio's details")
        from bizkit.exchange.identifiers import report_studio

        with read_as("studio", file):
            return read_input(Studio, file.tree, where=file.name, also=self._also(report_studio))

    def _also(self, report: Callable[[Table], None]) -> Callable[[Table], None]:
        """What only a library or the folder itself can tell of a studio's or a client's file."""
        from bizkit.services.studio.languages import report_language

        def both(at: Table) -> None:
            report(at)
            report_language(at, self.path)

        return both

    @cached_property
    def card_file(self) -> TomlFile:
        """rate-card.toml as it stands."""
        return read_toml(self.path / "rate-card.toml", "a rate card")

    @cached_property
    def card(self) -> RateCard:
        """The rate card. Raises BadInput."""
        from bizkit.domain.pricing.card import RateCard

        media = self.studio.media
        with read_as("rate-card", self.card_file):
            return RateCard.read(self.card_file.tree, where=self.card_file.name, media=media)

    def client(self, key: str, *, where: str = "", named_in: str = "client") -> Client:
        """The client in clients/KEY.toml. Raises NotFound, or BadInput for wrong details.

        One whose papers are in another language than the studio's has dates and amounts written in it too, unless a
        locale is said.
        """
        folder = self.path / "clients"
        known = sorted(path.stem for path in folder.glob("*.toml"))
        if key not in known:
            hint = " ".join(filter(None, (_client_hint(key, known), self._client_of(key))))
            raise NotFound("client", key, known, field=named_in, where=where, hint=hint)
        file = read_toml(folder / f"{key}.toml", "a client's details")
        from bizkit.exchange.identifiers import report_client

        with read_as("client", file):
            found = read_input(Client, file.tree, where=file.name, name=key, also=self._also(report_client))
        if found.locale or found.language in ("", self.studio.language):
            return found
        from bizkit.papers.locale import locale_of

        return replace(found, locale=locale_of(found.language, found.country))

    def _client_of(self, key: str) -> str:
        """What to do where a client's file is gone that jobs in the book go by; empty where none does."""
        from bizkit.store.jobs import jobs

        found: list[str] = []
        with suppress(BizkitError), self.book.read() as work:
            found = [row.key for row in jobs(work) if row.client == key]
        if not found:
            return ""
        keep = "keeps" if len(found) == 1 else "keep"
        listed = ", ".join([*found[:3], *(["..."] if found[3:] else [])])
        return (
            f"{key} is the client of {how_many(len(found), 'job')} ({listed}), which {keep} the details as accepted: "
            f"call the file clients/{key}.toml again and change only the name inside it"
        )

    def brief(self, path: Path) -> tuple[Brief, TomlFile]:
        """The brief at `path`, or of that name in briefs/, its sets and named specs looked up. Raises BadInput."""
        found = self._brief_file(path)
        file = read_toml(found or path, "a brief", hint="" if found else self._briefs(path))
        return self.brief_of(file), file

    def has_brief(self, path: Path) -> bool:
        """Whether there is a file at `path`, or of that name in briefs/."""
        return self._brief_file(path) is not None

    def _briefs(self, meant: Path | None = None) -> str:
        """Which briefs there are, or the one that is meant by a name."""
        known = [path.stem for path in (self.path / "briefs").glob("*.toml")]
        return f"Briefs stand in briefs/. {suggest(meant.stem if meant else '', known)}"

    def _brief_file(self, path: Path) -> Path | None:
        places = (path, self.path / "briefs" / path, self.path / "briefs" / f"{path}.toml")
        return next((place for place in places if place.is_file()), None)

    def brief_of(
        self, file: TomlFile, specs: Mapping[str, Spec] | None = None, media: MediaTree | None = None
    ) -> Brief:
        """The brief that a settings file holds, sets of cuts and named specs looked up. Raises BadInput.

        specs, media: as they were frozen; None for those of today.
        """
        from bizkit.domain.pricing.brief import Brief
        from bizkit.domain.pricing.cut_sets import expanded

        tree = media or self.studio.media
        with read_as("brief", file, self._briefs()):
            brief = Brief.read(file.tree, where=file.name, media=tree)
        return expanded(brief, self.specs if specs is None else specs)

    @cached_property
    def specs(self) -> dict[str, Spec]:
        """Every delivery spec by name: those shipped, and the studio's own in specs/, which go first."""
        from bizkit.services.studio.shipped_specs import shipped_specs

        return shipped_specs(self.path / "specs")

    @property
    def book_place(self) -> str | Path:
        """BIZKIT_BOOK, else the studio's own setting, both URLs; else book.sqlite in the folder."""
        return os.environ.get("BIZKIT_BOOK") or self.studio.book.url or self.path / BOOK

    @cached_property
    def book(self) -> Book:
        """The records. Raises BadInput or RuleBroken."""
        from bizkit.store.book import Book

        place = self.book_place
        if isinstance(place, Path) and not place.is_file():
            raise self._no_book()
        return Book.open(place)

    def _no_book(self) -> BadInput:
        """What to do where the file with the records is gone: nothing is begun anew beside papers that it knows."""
        others = sorted(one.name for one in self.path.iterdir() if one.is_file() and "sqlite" in one.name)
        papers = len(list(self.papers.glob("*.pdf"))) if self.papers.is_dir() else 0
        hint = f"Put {BOOK}, the newest copy you have, back into {self.path}"
        if others:
            hint += f"; beside it lies {', '.join(others)}"
        if papers:
            hint += (
                f". Its {how_many(papers, 'paper')} in papers/ show that there was one: make no new one beside them"
            )
        else:
            hint += ", or make a new studio with bizkit init FOLDER"
        return BadInput(wanted="the book of this studio", got="no such file", where=str(self.path / BOOK), hint=hint)

    @property
    def papers(self) -> Path:
        """The folder of issued PDFs and signed scans."""
        return self.path / "papers"

    @property
    def own_templates(self) -> Path | None:
        """The studio's own wording, where it has any."""
        folder = self.path / "templates" / "papers"
        return folder if folder.is_dir() else None

    @cached_property
    def day_off(self) -> DayOff:
        """Weekends and public holidays where the studio is."""
        from bizkit.services.studio.holidays_here import days_off

        return days_off(self.studio.country, self.studio.subdivision)

    @cached_property
    def holiday(self) -> DayOff:
        """Public holidays where the studio is, whatever the day of the week."""
        from bizkit.services.studio.holidays_here import public_holidays

        return public_holidays(self.studio.country, self.studio.subdivision)

    def stamp(self, on: date, *facts: tuple[str, date]) -> Stamp:
        """Who acts, on which day, written down now. Every act begins here, and here alone its dates are judged.

        facts: other days of what is written down, each with its option, such as ("--received", day). Raises
        RuleBroken for a day after today without a reason, see `domain.dated_ahead`; never in a practice studio.
        """
        from bizkit.domain.dated_ahead import begun_somewhere, check_ahead

        draft = self.draft_stamp(on)
        begun = begun_somewhere(datetime.fromisoformat(draft.at))
        if all(day <= begun for _, day in (("--on", on), *facts)) or self.studio.practice:
            return draft
        for option, day in (("--on", on), *facts):
            check_ahead(day, begun, self.reason, field=option)
        return replace(draft, ahead=self.reason.strip())

    def is_ahead(self, day: date) -> bool:
        """Whether a day has begun nowhere yet, so that an act dated so needs a reason; never in a practice studio."""
        from bizkit.domain.dated_ahead import begun_somewhere

        return not self.studio.practice and day > begun_somewhere(datetime.now(UTC))

    def draft_stamp(self, on: date) -> Stamp:
        """The same for what is no act yet: a draft, a preview, a calendar. It may be about any day."""
        from bizkit.store.stamp import Stamp

        check_text(self.who, field="BIZKIT_WHO")
        return Stamp(self.who, on, datetime.now(UTC).isoformat(timespec="seconds"))


def _client_hint(key: str, known: list[str]) -> str:
    """What to do where no client's file has a name: one whose name no brief can say is to be called otherwise."""
    strange = {as_key(name): name for name in known if as_key(name) != name}
    if key in strange:
        return f"There is clients/{strange[key]}.toml: rename it to clients/{key}.toml"
    if not known:
        return f"Write clients/{key}.toml first"
    near = suggest(key, [*(name for name in known if name not in strange.values()), *strange])
    meant = near.removeprefix("Did you mean ").removesuffix("?")
    if meant in strange:
        return f"{near} Then rename clients/{strange[meant]}.toml to clients/{meant}.toml"
    return near


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "studio"
