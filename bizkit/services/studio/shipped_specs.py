"""Delivery specs: those that are shipped, and a studio's own, which go first."""

from __future__ import annotations

from pathlib import Path

from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.spec import Spec
from bizkit.resources import templates
from bizkit.services.studio.file_kind import read_as
from bizkit.services.studio.toml_file import TomlFile, read_toml


def shipped_specs(own: Path | None = None) -> dict[str, Spec]:
    """Every delivery spec by name. own: a folder of more of them. Raises BadInput for one that cannot be read."""
    places = [templates() / "specs", *([own] if own else [])]
    paths = {path.stem: path for place in places for path in sorted(place.glob("*.toml"))}
    files = {name: read_toml(path, "a delivery spec") for name, path in paths.items()}
    return {name: _spec(file) for name, file in files.items()}


def _spec(file: TomlFile) -> Spec:
    with read_as("spec", file):
        return read_input(Spec, file.tree, where=file.name)
