"""A settings file read as another kind than it is: told in one line, and not key by key."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import keys_of
from bizkit.services.studio.toml_file import TomlFile

#: How messages call a file, by its name in `input_files`.
CALLED = {
    "studio": "a studio's details",
    "client": "a client's details",
    "rate-card": "a rate card",
    "brief": "a brief",
    "floor": "a studio's year (floor.toml)",
    "job": "a job's worksheet",
    "spec": "a delivery spec",
    "paper": "what a paper allows",
}


@contextmanager
def read_as(kind: str, file: TomlFile, hint: str = "", *, known: Collection[str] = ()) -> Iterator[None]:
    """Inside it a file is read as one of a kind, named as in `input_files`; where it cannot be and plainly is one of
    another kind, that is the one thing said. Raises BadInput.

    hint: where files of this kind are. known: the keys of a file that is none of those, called by what `kind` says.
    """
    try:
        yield
    except BadInput as error:
        other = _other_kind(kind, file.tree, known)
        if not other:
            raise
        some = ", ".join(list(file.tree)[:4])
        raise BadInput(
            wanted=CALLED.get(kind, kind), got=f"{CALLED[other]} ({some})", where=file.name, hint=hint
        ) from error


def _other_kind(kind: str, tree: Mapping[str, Any], known: Collection[str]) -> str:
    """The kind that knows most of the keys at the top of a file, where this kind knows far fewer; else empty."""
    from bizkit.services.studio.input_files import INPUT_FILES

    if not tree:
        return ""
    keys = {name: {one.name for one in keys_of(file.input)} for name, file in INPUT_FILES.items()}
    shares = {name: len(own & set(tree)) / len(tree) for name, own in {kind: set(known), **keys}.items()}
    best = max(shares, key=lambda name: shares[name])
    return best if shares[best] >= 0.7 and shares[best] - shares[kind] >= 0.2 else ""
