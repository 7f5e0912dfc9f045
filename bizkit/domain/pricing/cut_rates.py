"""What further cuts of a set cost: the `[cuts]` table of a rate card."""

from dataclasses import dataclass
from typing import Annotated

from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import Money


@dataclass(frozen=True, slots=True)
class CutRates:
    """The card's [cuts]: what each further length, shape and way to caption of a set costs, and its master."""

    length: Annotated[Money, Key("Each further length of a set.", usual=0)]
    shape: Annotated[Money, Key("Each further shape of a length.", usual=0)]
    captions: Annotated[Money, Key("Each further way to caption a cut.", usual=0)]
    master: Annotated[Money, Key("The master of a set.", usual=0)]
