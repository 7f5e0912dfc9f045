"""Which name each promised cut must carry, so that all cuts of a job can lie in one folder.

The words of a spec's name pattern come from the promise: job, shape, length, the way to caption. A pattern may leave
out what tells two cuts apart (the shipped ones leave out captions); the word {cut} then says it: `hero`, else
`hero-burned-in`, else the whole key. Where the pattern has {captions}, that word is `clean` or `captioned`, or the
very way where a set has several.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from bizkit.domain.money import plain
from bizkit.domain.work.judge import ratio
from bizkit.domain.work.naming import WORDS, NamePattern
from bizkit.domain.work.spec import Spec


@dataclass(frozen=True, slots=True)
class PromisedCut:
    """A deliverable by its key; cut_of: the set it belongs to, or empty; spec: what its file is held against."""

    key: str
    cut_of: str
    spec: Spec


def names_of_cuts(job: str, client: str, cuts: Sequence[PromisedCut]) -> dict[str, dict[str, str]]:
    """Key -> the words that the file name of that cut must have; words that its pattern cannot hold are left free.

    Cuts of one job differ in a word of their pattern wherever it has {cut}. The version is not among the words.
    """
    steps = {cut.key: 0 for cut in cuts}
    while True:
        words = {cut.key: _words(job, client, cut, steps[cut.key]) for cut in cuts}
        alike = {
            key
            for one, other in combinations(cuts, 2)
            if one.spec.file.name == other.spec.file.name
            and _fit_one_name(one.spec.file.name, words[one.key], words[other.key])
            for key in (one.key, other.key)
            if steps[key] < 2
        }
        if not alike:
            return words
        for key in alike:
            steps[key] += 1


def _fit_one_name(pattern: NamePattern | None, one: Mapping[str, str], other: Mapping[str, str]) -> bool:
    """Whether one file name could be that of both: no word of the pattern is known of both and differs."""
    return pattern is not None and all(
        one[word] == other[word] for word in pattern.words if word in one and word in other
    )


def _words(job: str, client: str, cut: PromisedCut, step: int) -> dict[str, str]:
    spec = cut.spec
    asked = spec.file.name.words if spec.file.name else ()
    way = spec.captions.how.replace("_", "-")
    shaped = not {"aspect", "seconds"}.isdisjoint(asked)
    short = cut.cut_of if cut.cut_of and shaped else cut.key
    longer = f"{short}-{way}" if way and "captions" not in asked else short
    words = {"job": job, "client": client, "cut": (short, longer, cut.key)[step]}
    if way:
        words["captions"] = way if way == "clean" or step else "captioned"
    if spec.picture.aspect:
        words["aspect"] = ratio(spec.picture.aspect).replace(":", "x").replace(".", "-")
    if spec.length.most_s is not None and spec.length.most_s == spec.length.least_s:
        words["seconds"] = f"{plain(spec.length.most_s)}s"
    if spec.picture.width_px and spec.picture.height_px:
        words["size"] = f"{spec.picture.width_px}x{spec.picture.height_px}"
    return possible(words)


def possible(words: Mapping[str, str]) -> dict[str, str]:
    """`words` without those whose text has not the form of its word: asked for, they could never be met."""
    return {word: text for word, text in words.items() if re.fullmatch(WORDS[word][0], text, re.ASCII)}
