"""What a brief promises: a film or a set of stills, with its spec, review rounds and due date."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.names import as_key
from bizkit.domain.work.spec import Spec

DELIVERABLE_KINDS = ("film", "stills")


#: Names that Windows keeps for devices, with any ending ("Naming Files, Paths, and Namespaces", Microsoft).
RESERVED: Final = frozenset(
    {"con", "prn", "aux", "nul"} | {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
)


def slug(text: str) -> str:
    """A name fit for file names and commands: lower-case letters, digits and single hyphens between them.

    Raises BadInput for any other.
    """
    if text in RESERVED:
        raise BadInput(wanted="a name that every system can give a file", got=f"{text}, a device of Windows")
    parts = text.split("-")
    if not all(part and part.isascii() and part.isalnum() and part == part.lower() for part in parts):
        meant = as_key(text)
        hint = f"Write {meant}" if meant else ""
        raise BadInput(wanted="lower-case letters, digits and hyphens, such as follow-the-kelp", got=text, hint=hint)
    return text


Rounds = Annotated[int | None, Key("Review rounds in the price, where not as the card says.", "rounds")]
DueDays = Annotated[int | None, Key("When it is due after the last shoot day.", "working days", most=2500)]
DueOn = Annotated[date | None, Key("When it is due, in place of due_days.")]


def check_due(due_days: int | None, due_on: date | None, at: Table) -> None:
    """Report something that is due in two ways."""
    if due_days is not None and due_on is not None:
        at.problem("due_on", "either due_days or due_on", "both")


@dataclass(frozen=True, slots=True)
class Deliverable:
    """One deliverable of a brief.

    quantity: how many films like this, or stills in the set. spec: in words, or the name of a delivery spec.
    rounds: review rounds included in the price, None for as many as the card says.
    due_days: working days after the last shoot day. due_on: a fixed date instead. At most one of the two.
    asks: what the file must be, once the name was looked up. cut_of: key of the set it comes from, or empty.
    cut: what tells it from the others of its set, in words ("9:16, 30 s, clean").
    """

    key: Annotated[str, Key("What commands call it.", rule=slug, example="campaign-film")]
    title: Annotated[str, Key("What papers call it.", example="Campaign film")]
    kind: Annotated[str, Key("What it is.", choices=DELIVERABLE_KINDS)]
    quantity: Annotated[int, Key("How many films like this, or stills in the set.", least=1)] = 1
    spec: Annotated[str, Key("Name of a delivery spec, or what is asked in words.", example="web_film")] = ""
    rounds: Rounds = None
    due_days: DueDays = None
    due_on: DueOn = None
    asks: Spec | None = None
    cut_of: str = ""
    cut: str = ""

    def settled(self, at: Table) -> "Deliverable":
        """It is due by days or by a date."""
        check_due(self.due_days, self.due_on, at)
        return self
