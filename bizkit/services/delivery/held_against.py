"""What files are held against: the spec promised or named, the version that a file is, the name it should have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.cut_names import PromisedCut, names_of_cuts, possible
from bizkit.domain.work.facts import Facts
from bizkit.domain.work.point import Point
from bizkit.domain.work.spec import Spec
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.work.spec import SpecData


@dataclass(frozen=True, slots=True)
class Asked:
    """What files are held against. spec: None to be told what is in them and no more. words: of the name pattern.

    quantity: how many files there should be, None where nothing says. instead: name of a spec that is held against in
    place of another that is promised. sent: number of each version sent -> the
    SHA-256 of each of its files.
    """

    spec: Spec | None
    words: Mapping[str, str] = field(default_factory=dict)
    quantity: int | None = None
    instead: str = ""
    sent: Mapping[int, frozenset[str]] = field(default_factory=dict)

    def version_of(self, facts: Facts) -> int:
        """The version that a file is by its content; else by its name, where that one was sent; else the next one."""
        for number, digests in self.sent.items():
            if facts.sha256 in digests:
                return number
        named = self._named(facts)
        return named if named in self.sent else len(self.sent) + 1

    def words_for(self, facts: Facts) -> dict[str, str]:
        """The words that the name of this file should have."""
        if not self.words:
            return {}
        return possible({**self.words, "version": f"v{self.version_of(facts)}"})

    def impostor(self, facts: Facts) -> list[Point]:
        """One point for a file that carries the name of a version sent and is not it; else none."""
        number = self._named(facts)
        if number not in self.sent or any(facts.sha256 in digests for digests in self.sent.values()):
            return []
        why = (
            f"Name it v{len(self.sent) + 1} if it is the next version; bizkit deliverable verify knows the one sent."
        )
        return [Point("version", f"v{number} as it was sent", "other content under its name", False, why)]

    def _named(self, facts: Facts) -> int:
        """The version that the name speaks of, 0 for none."""
        pattern = self.spec.file.name if self.spec else None
        parts = pattern.parts(facts.name.rpartition(".")[0] or facts.name) if pattern else None
        return int((parts or {}).get("version", "v0")[1:])


def asked(folder: StudioFolder, job: str, key: str, name: str, on: date) -> Asked:
    """What a deliverable's files are held against; name: of a spec to take in place of the one promised.

    Raises NotFound; RuleBroken for a deliverable whose spec is in words.
    """
    chosen = None
    if name:
        if name not in folder.specs:
            raise NotFound("delivery spec", name, folder.specs, field="--spec")
        chosen = folder.specs[name]
    if not job:
        return Asked(chosen)
    from bizkit.services.delivery.deliverables import deliverable_rows, the_deliverable
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        row = the_deliverable(folder, work, job, key, on)
        rows = deliverable_rows(folder, work, row["job"], on)
        client = the_job(work, job).client
        sent = _sent(work, row["job"], key)
    own = promised_spec(row["job"], row["asks"]) if row["asks"] is not None else None
    instead = name if chosen is not None and own is not None and chosen != own else ""
    if chosen is None:
        if row["asks"] is None:
            raise RuleBroken(
                f'{key} has its spec in words ("{row["spec"]}"): name one to hold the file against with --spec '
                f"({', '.join(sorted(folder.specs))})"
            )
        chosen = promised_spec(row["job"], row["asks"])
    cuts = [
        PromisedCut(one["key"], one["cut_of"], chosen if one["key"] == key else promised_spec(job, one["asks"] or {}))
        for one in rows
        if one["asks"] is not None or one["key"] == key
    ]
    many = row["kind"] == "stills" or row["quantity"] > 1
    return Asked(
        chosen, names_of_cuts(row["job"], client, cuts)[key], row["quantity"] if many else None, instead, sent
    )


def promised_spec(job: str, asks: SpecData | Mapping[str, object]) -> Spec:
    """The spec of a deliverable of a job as it was frozen into its quote."""
    return read_input(Spec, asks, where=f"the quote of {job}")


def _sent(work: Connection, job: str, key: str) -> dict[int, frozenset[str]]:
    from bizkit.store.deliveries import deliverables

    (one,) = [each for each in deliverables(work, job) if each.key == key]
    return {version.number: frozenset(version.contents.values()) for version in one.versions}
