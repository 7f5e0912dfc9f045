"""Sets of cuts and named specs in a brief: what they expand into, and what the cuts of a set cost.

    [[sets]]
    key = "hero"
    title = "Follow the Kelp"
    spec = "web_film"
    aspects = ["16:9", "9:16"]
    lengths_s = ["60", "30"]
    captions = ["clean", "burned_in"]
    master = "mezzanine"
    rounds = 2
    due_days = 15

The first length in its first shape is the film itself, priced by its edit days; what goes beyond costs by the card's
`[cuts]`: each further length is a new edit, each further shape of a length a new framing, each further way to caption
a new export (common practice).
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Given
from bizkit.domain.inputs.reading import Table
from bizkit.domain.pricing.cut_rates import CutRates
from bizkit.domain.pricing.deliverable import Deliverable, DueDays, DueOn, Rounds, check_due, slug
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import COMMON, shown
from bizkit.domain.pricing.working import Working
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.work.cuts import CutSet
from bizkit.domain.work.spec import Spec

if TYPE_CHECKING:
    from bizkit.domain.pricing.brief import Brief

#: A spec of this form is the name of one; anything else (with a space, a comma, a capital) is the spec in words.
_NAME = re.compile(r"[a-z0-9]+(?:[_-][a-z0-9]+)*", re.ASCII)


@dataclass(frozen=True, slots=True)
class SetRequest(CutSet):
    """A [[sets]] table of a brief. rounds, due_days, due_on: as of `Deliverable`, for every cut of the set."""

    rounds: Rounds = None
    due_days: DueDays = None
    due_on: DueOn = None
    field: Annotated[str, Given.PLACE] = ""
    where: Annotated[str, Given.FILE] = ""

    def settled(self, at: Table) -> "SetRequest":
        """A set whose key stands in file names, due by days or by a date."""
        try:
            slug(self.key)
        except BadInput as error:
            at.problem("key", error.wanted, error.got)
        check_due(self.due_days, self.due_on, at)
        CutSet.settled(self, at)
        return self

    @property
    def cuts(self) -> CutSet:
        """The set itself."""
        return self

    def deliverables(self, specs: Mapping[str, Spec]) -> Iterator[Deliverable]:
        """One a cut. Raises NotFound for a spec that is not among `specs`, BadInput for a spec of sound."""
        try:
            cuts = self.cuts.expand(specs)
        except NotFound as error:
            raise NotFound(
                "delivery spec", error.got, specs, field=f"{self.field}.{error.field}", where=self.where
            ) from None
        for cut in cuts:
            _refuse_sound(cut.spec, f"{self.field}.spec", self.where)
            yield Deliverable(
                key=cut.key,
                title=cut.title,
                kind=cut.kind,
                quantity=1,
                spec=_in_words(cut.spec),
                rounds=self.rounds,
                due_days=self.due_days,
                due_on=self.due_on,
                asks=cut.spec,
                cut_of=self.cuts.key,
                cut="" if cut.title == self.cuts.title else cut.title.removeprefix(f"{self.cuts.title}: "),
            )


def expanded(brief: "Brief", specs: Mapping[str, Spec]) -> "Brief":
    """`brief` with its sets as deliverables and its named specs looked up, in its options too.

    specs: every spec there is, by name. Raises NotFound for a name that is not among them, BadInput for a spec of
    another kind than the deliverable and for two deliverables with the same key.
    """
    tables = {"": brief.parts, **{f"options.{key}.": option.parts for key, option in brief.options.items()}}
    cuts: dict[str, tuple[str, ...]] = {}
    keys: set[str] = set()
    for prefix, parts in tables.items():
        found = [
            _looked_up(one, specs, f"{prefix}deliverables[{number}]", brief.where)
            for number, one in enumerate(parts.deliverables, start=1)
        ]
        for request in parts.sets:
            made = tuple(request.deliverables(specs))
            cuts[request.cuts.key] = tuple(cut.key for cut in made)
            found += made
        for one in found:
            if one.key in keys:
                raise BadInput(
                    wanted="a key no other deliverable has", got=one.key, field=f"{prefix}sets", where=brief.where
                )
            keys.add(one.key)
        tables[prefix] = replace(parts, deliverables=tuple(found))
    tables = {prefix: replace(parts, licence=_named(parts.licence, cuts)) for prefix, parts in tables.items()}
    options = {key: replace(option, parts=tables[f"options.{key}."]) for key, option in brief.options.items()}
    named = {name: specs[name] for name in _names(brief)}
    return replace(brief, parts=tables[""], options=options, specs=named)


def _names(brief: "Brief") -> Iterator[str]:
    """Every delivery spec that a brief names, those of its options too."""
    for parts in (brief.parts, *(option.parts for option in brief.options.values())):
        yield from (one.spec for one in parts.deliverables if _NAME.fullmatch(one.spec))
        for request in parts.sets:
            yield request.cuts.spec
            if request.cuts.master_spec:
                yield request.cuts.master_spec


def licensed(
    request: LicenceRequest, deliverables: Sequence[Deliverable], sets: Sequence[SetRequest]
) -> tuple[LicenceRequest, list[Deliverable]]:
    """What a licence is charged for: the cuts of one set are one film, whatever their number (common practice).

    Returns the request and the deliverables with the first licensed cut of each set alone.
    """
    titles = {one.cuts.key: one.cuts.title for one in sets}
    seen: set[str] = set()
    kept = []
    for one in deliverables:
        if request.works and one.key not in request.works:
            continue
        if one.cut_of in seen:
            continue
        if one.cut_of:
            seen.add(one.cut_of)
            one = replace(one, title=titles[one.cut_of])
        kept.append(one)
    works = tuple(one.key for one in kept) if request.works else ()
    return replace(request, works=works), kept


def cut_lines(rates: CutRates, sets: Sequence[SetRequest], words: Mapping[str, str]) -> list[Line]:
    """One line each for further lengths, shapes, ways to caption and the master of every set that the card prices."""
    lines = []
    for one in sets:
        cuts = one.cuts
        lengths, shapes, ways = (max(1, len(axis)) for axis in (cuts.lengths_s, cuts.aspects, cuts.captions))
        for key, rate, count, how in (
            ("length", rates.length, lengths - 1, f"{lengths} lengths, the first one is the film itself"),
            ("shape", rates.shape, lengths * (shapes - 1), f"{shapes} shapes of {lengths} lengths, the first apart"),
            (
                "captions",
                rates.captions,
                lengths * shapes * (ways - 1),
                f"{ways} ways to caption {lengths * shapes} cuts, the first apart",
            ),
            ("master", rates.master, 1 if cuts.master_spec else 0, "one master"),
        ):
            if count and rate.amount:
                exact = rate * count
                text = f"{how}: {count} x {shown(rate)} = {shown(exact)}"
                working = Working(text, f"cuts.{key}", exact, COMMON, (("cuts", str(count)), ("rate", rate.text)))
                item = words[f"cut_{key}"].format(title=cuts.title)
                lines.append(Line("post", item, Decimal(count), "cut", rate, exact.rounded(), working))
    return lines


def unpriced(rates: CutRates | None, sets: Sequence[SetRequest]) -> list[str]:
    """Sets whose further cuts the card has no price for, one sentence each."""
    return [
        f"the {one.cuts.count} cuts of {one.cuts.key} cost no more than their edit days: the rate card has no [cuts]"
        for one in sets
        if rates is None and one.cuts.count > 1
    ]


def _named(licence: LicenceRequest | None, cuts: Mapping[str, Sequence[str]]) -> LicenceRequest | None:
    """The licence with the cuts of each set in place of the set's key."""
    if licence is None or not licence.works:
        return licence
    works = [key for work in licence.works for key in cuts.get(work, (work,))]
    return replace(licence, works=tuple(dict.fromkeys(works)))


def _looked_up(one: Deliverable, specs: Mapping[str, Spec], field: str, where: str) -> Deliverable:
    if not _NAME.fullmatch(one.spec):
        return one
    if one.spec not in specs:
        raise NotFound("delivery spec", one.spec, specs, field=f"{field}.spec", where=where)
    spec = specs[one.spec]
    _refuse_sound(spec, f"{field}.spec", where)
    if spec.kind != one.kind:
        raise BadInput(wanted=f"a spec for {one.kind}", got=f"{one.spec}, for {spec.kind}", field=field, where=where)
    return replace(one, spec=_in_words(spec), asks=spec)


def _refuse_sound(spec: Spec, field: str, where: str) -> None:
    if spec.kind == "sound":
        raise BadInput(wanted="a spec for film or stills", got=f"{spec.title}, for sound", field=field, where=where)


def _in_words(spec: Spec) -> str:
    return f"{spec.title}: {spec.summary}" if spec.summary else spec.title
