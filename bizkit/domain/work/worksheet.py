"""How a job is worked: `jobs/KEY.toml`, written by hand while it runs; everything in it may be missing."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.work.schedule import Step
from bizkit.domain.work.shots import Shot, check_numbers
from bizkit.domain.work.spec import rate_of
from bizkit.domain.work.storage import Rushes, StorageTerms


@dataclass(frozen=True, slots=True)
class Worksheet:
    """The file as read. where: the file, for messages."""

    where: Annotated[str, Given.FILE]
    timeline: Annotated[
        Fraction | None,
        Key(
            "Frames a second of the edit; without it what the deliverables ask for.",
            written=str,
            rule=rate_of,
            example="25",
        ),
    ] = None
    shots: Annotated[tuple[Shot, ...], Key("What is shot, by number.")] = ()
    storage: Annotated[StorageTerms | None, Key("How you store.")] = None
    rushes: Annotated[tuple[Rushes, ...], Key("What each camera and recorder fills.")] = ()
    steps: Annotated[tuple[Step, ...], Key("Steps of the plan; without them they are made from the quote.")] = ()

    def settled(self, at: Table) -> "Worksheet":
        """Each shot has a number of its own."""
        check_numbers(self.shots, at)
        return self
