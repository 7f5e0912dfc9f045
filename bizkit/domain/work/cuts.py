"""One line of a brief that stands for many cuts: a master, and shapes x lengths x captions from it.

    [[sets]]
    key = "hero"
    title = "Follow the Kelp"
    spec = "web_film"
    aspects = ["16:9", "9:16", "1:1"]
    lengths_s = ["60", "30", "15"]
    captions = ["clean", "burned_in"]
    master = "mezzanine"

is a master and 3 x 3 x 2 cuts: 19 deliverables.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import plain
from bizkit.domain.typed_numbers import number_of
from bizkit.domain.work.spec import CAPTIONS, PictureSpec, Spec, aspect_of

#: More cuts than this from one line is a typing mistake.
CUTS_MOST = 300

_CAPTION_WORDS = {
    "": "",
    "clean": "clean",
    "sidecar": "with caption file",
    "embedded": "captions inside",
    "burned_in": "captions burned in",
}


@dataclass(frozen=True, slots=True)
class Cut:
    """One deliverable of a set, with the spec its file is held against.

    text: shape, length and captions in words, for the quote ("16:9, 60 s, clean").
    """

    key: str
    title: str
    kind: str
    text: str
    spec: Spec
    master: bool = False


def _shape(text: str) -> str:
    aspect_of(text)
    return text


def _length(text: str) -> Decimal:
    wanted = 'seconds in quotes such as "60"'
    length = number_of(text, field="", wanted=wanted, least=0, most=86_400)
    if not length:
        raise BadInput(wanted=wanted, got=text)
    return length


@dataclass(frozen=True, slots=True)
class CutSet:
    """Shapes, lengths and captions multiplied out. An empty axis leaves the spec as it is.

    spec, master_spec: names of specs; no master when the latter is empty. The master takes the first shape and the
    first length, and is clean.
    """

    key: Annotated[str, Key("What commands call it.", example="hero")]
    title: Annotated[str, Key("What papers call it.", example="Follow the Kelp")]
    spec: Annotated[str, Key("Name of the delivery spec of its cuts.", example="web_film")]
    aspects: Annotated[tuple[str, ...], Key("Its shapes.", each=_shape, example=["16:9", "9:16"])] = ()
    lengths_s: Annotated[
        tuple[Decimal, ...],
        Key("Its lengths, in quotes.", "seconds", written=tuple[str, ...], each=_length, example=["60", "30"]),
    ] = ()
    captions: Annotated[
        tuple[str, ...], Key("Ways to caption each.", choices=CAPTIONS, wanted="a known way to caption")
    ] = ()
    master_spec: Annotated[str, Key("Name of its master's spec; without it none.", name="master")] = ""

    def settled(self, at: Table) -> "CutSet":
        """Each shape, length and way once, and no more cuts than anybody means."""
        for key, values in (("aspects", self.aspects), ("captions", self.captions), ("lengths_s", self.lengths_s)):
            if len(set(values)) != len(values):
                at.problem(key, "each value once", ", ".join(map(str, values)))
        if self.count > CUTS_MOST:
            at.problem("", f"{CUTS_MOST} cuts or fewer from one set", self.count)
        return self

    @property
    def count(self) -> int:
        """How many deliverables this makes, the master included."""
        product = max(1, len(self.aspects)) * max(1, len(self.lengths_s)) * max(1, len(self.captions))
        return product + (1 if self.master_spec else 0)

    def expand(self, specs: Mapping[str, Spec]) -> tuple[Cut, ...]:
        """The deliverables, master first, then by shape, length and captions in the order given.

        specs: by name. Raises NotFound for a spec that is not among them.
        """
        base = _named(specs, self.spec, "spec")
        cuts = []
        if self.master_spec:
            master = _shaped(_named(specs, self.master_spec, "master"), self.aspects[:1], self.lengths_s[:1], "clean")
            text = ", ".join(("master", *self.aspects[:1], *map(_seconds, self.lengths_s[:1])))
            cuts.append(Cut(f"{self.key}-master", f"{self.title}: master", master.kind, text, master, master=True))
        for aspect in self.aspects or ("",):
            for length in self.lengths_s or (None,):
                for how in self.captions or ("",):
                    words = (aspect, _seconds(length) if length is not None else "", _CAPTION_WORDS[how])
                    text = ", ".join(word for word in words if word)
                    spec = _shaped(base, (aspect,) if aspect else (), (length,) if length is not None else (), how)
                    ends = (
                        aspect.replace(".", "-").replace(":", "x"),
                        f"{plain(length).replace('.', '-')}s" if length is not None else "",
                        how.replace("_", "-"),
                    )
                    key = "-".join((self.key, *(end for end in ends if end)))
                    cuts.append(Cut(key, f"{self.title}: {text}" if text else self.title, spec.kind, text, spec))
        return tuple(cuts)


def reshaped(picture: PictureSpec, aspect: Fraction) -> PictureSpec:
    """`picture` asked for in another shape, in even pixels.

    A shape wider than the spec's own keeps the width; any other keeps the short side. 1920 x 1080 becomes 1080 x 1920
    at 9:16, 1080 x 1080 at 1:1, 1080 x 1350 at 4:5 and 1920 x 804 at 2.39:1 (common practice).
    """
    if not (picture.width_px and picture.height_px):
        return replace(picture, aspect=aspect)
    width_px, height_px = picture.width_px, picture.height_px
    short_px = min(width_px, height_px)
    if aspect > max(Fraction(width_px, height_px), Fraction(height_px, width_px)):
        width, height = Fraction(max(width_px, height_px)), max(width_px, height_px) / aspect
    elif aspect >= 1:
        width, height = short_px * aspect, Fraction(short_px)
    else:
        width, height = Fraction(short_px), short_px / aspect
    return replace(picture, width_px=2 * round(width / 2), height_px=2 * round(height / 2), aspect=aspect)


def _shaped(spec: Spec, aspects: tuple[str, ...], lengths_s: tuple[Decimal, ...], how: str) -> Spec:
    if aspects and spec.kind == "film":
        spec = replace(spec, picture=reshaped(spec.picture, aspect_of(aspects[0])))
    if lengths_s:
        spec = replace(spec, length=replace(spec.length, least_s=lengths_s[0], most_s=lengths_s[0]))
    if how:
        spec = replace(spec, captions=replace(spec.captions, how=how))
    return spec


def _seconds(length_s: Decimal) -> str:
    return f"{plain(length_s)} s"


def _named(specs: Mapping[str, Spec], name: str, field: str) -> Spec:
    if name not in specs:
        raise NotFound("delivery spec", name, specs, field=field)
    return specs[name]
