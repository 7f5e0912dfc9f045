"""Review rounds: what counts as one, how many are left, and what a further one costs once the client says yes.

A round is all the client's notes between the sending of one version and the next, whichever version they are about.
Notes on the studio's own mistakes alone use up no round.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from bizkit.domain.dates import DayOff, add_working_days, weekend
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import Money
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working

EVENTS = ("sent", "notes")


@dataclass(frozen=True, slots=True)
class RoundTerms:
    """included: rounds in the price. extra_round: price of a further one; None where the card has none.

    silence_days: working days without an answer until a reminder is due. silence_approves: whether silence counts
    as approval then; never unless the terms agreed with the client say so. The defaults are common practice.
    """

    included: Annotated[int, Key("Rounds in the price.", "rounds", most=100)] = 2
    extra_round: Annotated[Money | None, Key("What a further round costs.", example=180)] = None
    silence_days: Annotated[int, Key("Silence until a reminder is due.", "working days", least=1, most=250)] = 5
    silence_approves: Annotated[bool, Key("Whether silence counts as approval then.")] = False


@dataclass(frozen=True, slots=True)
class ReviewEvent:
    """A version sent, or notes that came. version: the one sent, or the one the notes are about.

    ours: the notes are about the studio's own mistakes only (a misspelt name, a wrong file). re_edit: they ask for
    changes to what was approved.
    """

    kind: str
    on: date
    version: int
    ours: bool = False
    re_edit: bool = False


@dataclass(frozen=True, slots=True)
class Round:
    """One round. number: among those that count, 0 where only the studio's own mistakes were noted.

    version: the newest sent when it opened. about: versions its notes are about. opened_on: day of its first notes.
    extra: beyond those included. re_edit: of what was approved, or after such a one: with that the included ones end.
    """

    number: int
    version: int
    about: tuple[int, ...]
    opened_on: date
    extra: bool
    re_edit: bool = False


@dataclass(frozen=True, slots=True)
class RoundCount:
    """Rounds of one deliverable so far."""

    rounds: tuple[Round, ...]
    included: int

    @property
    def used(self) -> int:
        """Rounds that count."""
        return sum(1 for each in self.rounds if each.number)

    @property
    def left(self) -> int:
        """Rounds still included."""
        return max(0, self.included - self.used)

    @property
    def extra(self) -> tuple[Round, ...]:
        """Rounds beyond those included."""
        return tuple(each for each in self.rounds if each.extra)

    @property
    def next_is_extra(self) -> bool:
        """Whether the next notes open a round that has to be paid."""
        return self.used >= self.included or any(each.re_edit for each in self.rounds)


def count_rounds(events: Sequence[ReviewEvent], terms: RoundTerms) -> RoundCount:
    """The rounds in `events`, which stand in the order in which they happened.

    Raises BadInput for events out of order, RuleBroken for notes before anything was sent or on a version that was
    not, and for a version sent under a number used before.
    """
    gathered: list[list[ReviewEvent]] = []
    newest_at: list[int] = []
    sent: list[int] = []
    fresh = False
    latest = date.min
    for event in events:
        if event.kind not in EVENTS:
            raise BadInput(wanted=f"one of {', '.join(EVENTS)}", got=event.kind, field="kind")
        if event.on < latest:
            raise BadInput(wanted=f"events in order, on {latest} or later", got=event.on, field="on")
        latest = event.on
        if event.kind == "sent":
            if sent and event.version <= sent[-1]:
                raise RuleBroken(f"a version after v{sent[-1]} needs a higher number than v{event.version}")
            sent.append(event.version)
            fresh = True
            continue
        if event.version not in sent:
            raise RuleBroken(f"notes on v{event.version} cannot be taken: that version was not sent")
        if fresh or (event.re_edit and not gathered[-1][-1].re_edit):
            gathered.append([])
            newest_at.append(sent[-1])
            fresh = False
        gathered[-1].append(event)
    rounds = []
    number, approved = 0, False
    for notes, newest in zip(gathered, newest_at, strict=True):
        counts = not all(note.ours for note in notes)
        number += counts
        about = tuple(sorted({note.version for note in notes}))
        approved = approved or notes[0].re_edit
        extra = counts and (number > terms.included or approved)
        rounds.append(Round(number if counts else 0, newest, about, notes[0].on, extra, approved))
    return RoundCount(tuple(rounds), terms.included)


def extra_round_lines(
    count: RoundCount, terms: RoundTerms, *, agreed: Collection[int], item: str = "Further review round"
) -> list[Line]:
    """Invoice lines for the extra rounds that the client said yes to, by their numbers; no yes, no line.

    Raises RuleBroken for a number that is no extra round, or where the card has no price for one.
    """
    known = {each.number: each for each in count.extra}
    lines = []
    for number in sorted(agreed):
        if number not in known:
            raise RuleBroken(f"round {number} is not beyond the {count.included} included: nothing to charge")
        if terms.extra_round is None:
            raise RuleBroken("the card has no price for a further round: add extra_round to it")
        price = terms.extra_round
        beyond = f"{number - count.included} beyond the {count.included} included"
        if known[number].re_edit:
            beyond = "a re-edit of what was approved"
        working = Working(
            f"round {number} on v{known[number].version}, {beyond}: {price}",
            "rounds.extra",
            price,
            inputs=(("round", str(number)), ("included", str(count.included)), ("price", price.text)),
        )
        lines.append(Line("post", f"{item} ({number})", Decimal(1), "round", price, price.rounded(), working))
    return lines


def waiting_for_yes(count: RoundCount, *, agreed: Collection[int], declined: Collection[int] = ()) -> tuple[int, ...]:
    """Numbers of extra rounds that the client has neither agreed to nor declined."""
    return tuple(each.number for each in count.extra if each.number not in agreed and each.number not in declined)


@dataclass(frozen=True, slots=True)
class Silence:
    """What silence on a version means on a day. state: "waiting", "remind" or "approved".

    answer_by: the last day on which an answer is still in time.
    """

    state: Literal["waiting", "remind", "approved"]
    answer_by: date


def silence(sent_on: date, on: date, terms: RoundTerms, day_off: DayOff = weekend) -> Silence:
    """What it means that a version sent on `sent_on` is unanswered on `on`.

    Raises BadInput where `on` comes before the sending.
    """
    if on < sent_on:
        raise BadInput(wanted=f"a day on or after {sent_on}, when it was sent", got=on, field="on")
    answer_by = add_working_days(sent_on, terms.silence_days, day_off)
    if on <= answer_by:
        return Silence("waiting", answer_by)
    return Silence("approved" if terms.silence_approves else "remind", answer_by)
