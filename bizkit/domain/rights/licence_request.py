"""LicenceRequest: what a client asks to be allowed, the `[licence]` table of a brief.

It is priced, printed on the quote and cleared against the holdings; `licence.Licence` is the grant of it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Final

from bizkit.domain.dates import iso_date, term_end
from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table, read_made
from bizkit.domain.money import plain
from bizkit.domain.names import same_name
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.plain_words import licence_sentences
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory

#: none: others may get the same. sector: nobody else of one line of business. sole: nobody else at all.
EXCLUSIVITIES: Final = ("none", "sector", "sole")


@dataclass(frozen=True, slots=True)
class ArchiveClip:
    """A piece of the studio's archive that goes into the client's work. Length in seconds."""

    title: Annotated[str, Key("What it is called.", example="Basking shark, evening")]
    seconds: Annotated[Decimal, Key("How much of it.", "seconds", above=0, wanted="a length above zero", example=8)]


def clip_piece(title: str) -> str:
    """A clip as compared between licences, whichever job they are of.

    >>> clip_piece("Basking  Shark")
    'clip basking shark'
    """
    return f"clip {same_name(title)}"


@dataclass(frozen=True, slots=True)
class LicenceTable:
    """A brief's [licence] as it stands in the file."""

    media: Annotated[tuple[str, ...], Key("Media or branches of them.", example=["online"])] = ()
    territory: Annotated[tuple[str, ...], Key("Where, in words or codes.", example=["United Kingdom"])] = ()
    excepted: Annotated[tuple[str, ...], Key("Less these.", name="except")] = ()
    months: Annotated[int | None, Key("How long; or until, or open_end.", "months", least=1, most=1200)] = None
    until: Annotated[date | None, Key("Its last day, in place of months.")] = None
    open_end: Annotated[bool | None, Key("No end, in place of months.")] = None
    starts: Annotated[date | None, Key("Its first day.")] = None
    first_use_by: Annotated[date | None, Key("It runs from the first use, this day at the latest.")] = None
    on_full_payment: Annotated[bool | None, Key("Nothing before all invoices are paid; so where no day is said.")] = (
        None
    )
    exclusivity: Annotated[str, Key("Whether others may get the same.", choices=EXCLUSIVITIES)] = "none"
    sector: Annotated[str, Key("The line of business that exclusivity = sector protects.")] = ""
    works: Annotated[tuple[str, ...], Key("Keys of deliverables; without it all.")] = ()
    clips: Annotated[tuple[ArchiveClip, ...], Key("Clips of your archive that go in.")] = ()
    edits: Annotated[bool, Key("Whether the client may edit.")] = False
    transfer: Annotated[bool, Key("Whether the client may pass it on.")] = False
    affiliates: Annotated[tuple[str, ...], Key("Who else may use it.")] = ()
    credit: Annotated[str, Key("The credit that is to be given.")] = ""
    limits: Annotated[tuple[str, ...], Key("What it may not be used for.")] = ()
    buy_out: Annotated[bool, Key("Everything, everywhere, without an end.")] = False

    @property
    def waits_for_payment(self) -> bool:
        """Whether it begins with full payment: as said, else where no first day is."""
        if self.on_full_payment is not None:
            return self.on_full_payment
        return self.starts is None and self.first_use_by is None

    def check(self, at: Table) -> None:
        """Report what does not go together: its length, its first day, its sector."""
        if not self.buy_out:
            for key, given in (("media", self.media), ("territory", self.territory)):
                if not given:
                    at.problem(key, "a list of texts", "nothing", f"Add {key} to the file")
        open_end = self.open_end
        if open_end is None:
            open_end = self.buy_out and self.months is None and self.until is None
        if (self.months is not None) + (self.until is not None) + open_end != 1:
            said = ", ".join(key for key in ("months", "until", "open_end") if at.says(key))
            at.problem("months", "one of months, until or open_end = true", said or "none of them")
        if self.starts is not None and self.first_use_by is not None:
            at.problem("first_use_by", "either starts or first_use_by", "both")
        first = self.starts or self.first_use_by
        if not self.waits_for_payment and first is None:
            at.problem("starts", "a first day, first_use_by, or on_full_payment = true", "none of them")
        if self.until is not None and first is not None and self.until < first:
            at.problem("until", f"a day on or after {first}", self.until)
        if (self.exclusivity == "sector") != bool(self.sector):
            wanted = "the line of business that is protected" if not self.sector else 'exclusivity = "sector" too'
            at.problem("sector", wanted, self.sector or "nothing")


@dataclass(frozen=True, slots=True)
class LicenceRequest:
    """What the client wants to be allowed.

    media: leaves of the media tree. works: keys of deliverables, empty for all. clips: archive clips besides.
    starts: first day; where None, the day of full payment, or of first use but `first_use_by` at the latest.
    on_full_payment: no right before the invoices are paid in full. The term still counts from `starts` if given.
    months: length by the corresponding date, or until: last day, included; both None = no end.
    exclusivity: one of `EXCLUSIVITIES`, with the line of business as `sector` where it is "sector".
    edits, transfer: allowed or not. affiliates: who else may use it. credit: the wording, or empty.
    limits: what it may not be used for (moral limits, competing sectors). buy_out: priced as the card's buy-out.
    """

    media: frozenset[str]
    territory: Territory
    months: int | None = None
    until: date | None = None
    starts: date | None = None
    on_full_payment: bool = False
    first_use_by: date | None = None
    exclusivity: str = "none"
    sector: str = ""
    works: tuple[str, ...] = ()
    clips: tuple[ArchiveClip, ...] = ()
    edits: bool = False
    transfer: bool = False
    affiliates: tuple[str, ...] = ()
    credit: str = ""
    limits: tuple[str, ...] = ()
    buy_out: bool = False

    @classmethod
    def read(
        cls, tree: Mapping[str, Any], *, media: MediaTree = MEDIA_TREE, where: str = "", path: str = ""
    ) -> "LicenceRequest":
        """From the `[licence]` table of a brief. Raises BadInput naming the field."""
        return read_made(LicenceTable, lambda table, at: cls.of(table, at, media), tree, where=where, path=path)

    @classmethod
    def of(cls, table: LicenceTable, at: Table, tree: MediaTree = MEDIA_TREE) -> "LicenceRequest | None":
        """What a `[licence]` table asks for; reports what cannot be, None where no licence comes of it.

        A buy-out needs no media, territory or length. It begins on full payment where nothing is said.
        """
        table.check(at)
        buy_out, before = table.buy_out, len(at.problems)
        try:
            territory = Territory.read(table.territory or (["World"] if buy_out else []), table.excepted)
        except BadInput as error:
            at.problem("territory", error.wanted, error.got, error.hint)
        try:
            leaves = tree.read(table.media or (["all"] if buy_out else []))
        except BadInput as error:
            at.problem("media", error.wanted, error.got, error.hint)
        if len(at.problems) > before:
            return None
        return cls(
            media=leaves,
            territory=territory,
            months=table.months,
            until=table.until,
            starts=table.starts,
            on_full_payment=table.waits_for_payment,
            first_use_by=table.first_use_by,
            exclusivity=table.exclusivity,
            sector=table.sector,
            works=() if table.works == ("all",) else table.works,
            clips=table.clips,
            edits=table.edits,
            transfer=table.transfer,
            affiliates=table.affiliates,
            credit=table.credit,
            limits=table.limits,
            buy_out=buy_out,
        )

    def end_from(self, start: date) -> date | None:
        """The last day (included) of a term that counts from `start`; None when it has no end."""
        if self.months is not None:
            return term_end(start, self.months)
        return self.until

    def term(self, paid_on: date | None = None, first_used_on: date | None = None) -> Term | None:
        """The days on which it allows anything, as far as is known; None when not (yet) in effect.

        Where the payment comes after `starts`, the days before it are lost, not added at the end.
        """
        if self.on_full_payment and paid_on is None:
            return None
        counted = self.starts
        if counted is None and self.first_use_by is not None:
            counted = min(first_used_on or self.first_use_by, self.first_use_by)
        if counted is None:
            counted = paid_on
        if counted is None:
            return None
        begins = max(counted, paid_on) if self.on_full_payment and paid_on is not None else counted
        end = self.end_from(counted) or OPEN_END
        return Term(begins, end) if begins <= end else None

    def widest_term(self, expected: date) -> Term | None:
        """The days it may come to allow before it is known when it takes effect; None when it would be over.

        expected: the day on which full payment, or a first use, is expected. From a first use it runs from that day
        to the end it has when first used on the latest day. For pricing, printing and clearing; a payment on another
        day may move the end, so clearance is checked again when the licence takes effect.
        """
        if self.starts is not None:
            return Term(self.starts, self.end_from(self.starts) or OPEN_END)
        latest = self.first_use_by or expected
        start, end = min(expected, latest), self.end_from(latest) or OPEN_END
        return Term(start, end) if start <= end else None

    def scope(self, term: Term) -> Scope:
        """Its media and countries over `term`."""
        return Scope.box(self.media, self.territory.codes, term)

    def sentences(self, titles: Iterable[str] = (), tree: MediaTree = MEDIA_TREE) -> list[str]:
        """In plain English; `titles` name the works."""
        return licence_sentences(self, tuple(titles), tree)

    def data(self, licensee: str = "", titles: Iterable[str] = (), tree: MediaTree = MEDIA_TREE) -> dict[str, Any]:
        """As JSON-ready data, frozen: countries spread out, sentences as agreed; `titles` name the works."""
        end = self.end_from(self.starts) if self.starts is not None else self.until
        return {
            "licensee": licensee,
            "media": tree.sorted(self.media),
            "territory": self.territory.data(),
            "starts": _text(self.starts),
            "on_full_payment": self.on_full_payment,
            "first_use_by": _text(self.first_use_by),
            "months": self.months,
            "ends": _text(end),
            "exclusivity": self.exclusivity,
            "sector": self.sector,
            "works": list(self.works),
            "clips": [{"title": clip.title, "seconds": plain(clip.seconds)} for clip in self.clips],
            "edits": self.edits,
            "transfer": self.transfer,
            "affiliates": list(self.affiliates),
            "credit": self.credit,
            "limits": list(self.limits),
            "buy_out": self.buy_out,
            "sentences": self.sentences(titles, tree),
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "LicenceRequest":
        """From `data()`. The countries are those frozen there."""
        months = data["months"]
        return cls(
            media=frozenset(data["media"]),
            territory=Territory.from_data(data["territory"]),
            months=months,
            until=None if months is not None else _day(data["ends"]),
            starts=_day(data["starts"]),
            on_full_payment=data["on_full_payment"],
            first_use_by=_day(data.get("first_use_by", "")),
            exclusivity=data["exclusivity"],
            sector=data.get("sector", ""),
            works=tuple(data.get("works", ())),
            clips=tuple(ArchiveClip(clip["title"], Decimal(clip["seconds"])) for clip in data.get("clips", ())),
            edits=data.get("edits", False),
            transfer=data.get("transfer", False),
            affiliates=tuple(data.get("affiliates", ())),
            credit=data.get("credit", ""),
            limits=tuple(data.get("limits", ())),
            buy_out=data.get("buy_out", False),
        )


def _text(day: date | None) -> str:
    return day.isoformat() if day is not None else ""


def _day(text: str) -> date | None:
    return iso_date(text) if text else None
