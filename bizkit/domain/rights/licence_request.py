"""LicenceRequest: what a client asks to be allowed, the `[licence]` table of a brief.

It is priced, printed on the quote and cleared against the holdings; `licence.Licence` is the grant of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from bizkit.domain.dates import iso_date, term_end
from bizkit.domain.fields import Fields
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

    title: str
    seconds: Decimal


def clip_piece(title: str) -> str:
    """A clip as compared between licences, whichever job they are of.

    >>> clip_piece("Basking  Shark")
    'clip basking shark'
    """
    return f"clip {same_name(title)}"


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
    def read(cls, fields: Fields, tree: MediaTree = MEDIA_TREE) -> LicenceRequest:
        """From the `[licence]` table of a brief. Raises BadInput or NotFound, naming the field.

        `media`, `territory` (phrases or codes) less `except`; one of `months`, `until` or `open_end = true`;
        `starts` and/or `on_full_payment = true` (the default when nothing is said), or `first_use_by`; the rest as
        the attributes of this class; `[[licence.clips]]` with `title` and `seconds`. A `buy_out`
        needs no media, territory or length.
        """
        buy_out = fields.flag("buy_out", False)
        territory = Territory.read(
            fields.texts("territory", ["World"]) if buy_out else fields.texts("territory"),
            fields.texts("except", ()),
            field=fields.field("territory"),
            where=fields.where,
        )
        media = fields.texts("media", ["all"]) if buy_out else fields.texts("media")
        leaves = tree.read(media, field=fields.field("media"), where=fields.where)
        months = fields.whole("months", least=1, most=1200) if "months" in fields else None
        until = fields.day("until", None)
        open_end = fields.flag("open_end", buy_out and "months" not in fields and "until" not in fields)
        if (months is not None) + (until is not None) + open_end != 1:
            said = [key for key in ("months", "until", "open_end") if key in fields]
            raise fields.wrong("months", "one of months, until or open_end = true", ", ".join(said) or "none of them")
        starts = fields.day("starts", None)
        first_use_by = fields.day("first_use_by", None)
        if starts is not None and first_use_by is not None:
            raise fields.wrong("first_use_by", "either starts or first_use_by", "both")
        on_full_payment = fields.flag("on_full_payment", starts is None and first_use_by is None)
        if not on_full_payment and starts is None and first_use_by is None:
            raise fields.wrong("starts", "a first day, first_use_by, or on_full_payment = true", "none of them")
        first = starts or first_use_by
        if until is not None and first is not None and until < first:
            raise fields.wrong("until", f"a day on or after {first}", until)
        exclusivity = fields.choice("exclusivity", EXCLUSIVITIES, "none")
        sector = fields.text("sector", "")
        if (exclusivity == "sector") != bool(sector):
            wanted = (
                "the line of business that is protected" if exclusivity == "sector" else 'exclusivity = "sector" too'
            )
            raise fields.wrong("sector", wanted, sector or "nothing")
        works = fields.texts("works", ())
        clips = tuple(ArchiveClip(row.text("title"), _seconds(row)) for row in fields.rows("clips"))
        request = cls(
            media=leaves,
            territory=territory,
            months=months,
            until=until,
            starts=starts,
            on_full_payment=on_full_payment,
            first_use_by=first_use_by,
            exclusivity=exclusivity,
            sector=sector,
            works=() if works == ("all",) else works,
            clips=clips,
            edits=fields.flag("edits", False),
            transfer=fields.flag("transfer", False),
            affiliates=fields.texts("affiliates", ()),
            credit=fields.text("credit", ""),
            limits=fields.texts("limits", ()),
            buy_out=buy_out,
        )
        fields.done()
        return request

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
    def from_data(cls, data: Mapping[str, Any]) -> LicenceRequest:
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


def _seconds(row: Fields) -> Decimal:
    seconds = row.number("seconds")
    if not seconds:
        raise row.wrong("seconds", "a length above zero", seconds)
    row.done()
    return seconds


def _text(day: date | None) -> str:
    return day.isoformat() if day is not None else ""


def _day(text: str) -> date | None:
    return iso_date(text) if text else None
