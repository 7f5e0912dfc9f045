"""A progress bar for what takes long: on a terminal only, on standard error, so that output stays clean."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from bizkit.services.studio.fingerprint import Progress


@contextmanager
def progress_bar(label: str) -> Iterator[Progress | None]:
    """A function to be told what is done and all there is; None where nobody looks at a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    with typer.progressbar(length=1, label=label, file=sys.stderr) as bar:
        seen: Any = bar

        def tell(done: int, of: int) -> None:
            if of > 0:
                if done < seen.pos or of != seen.length:  # the next file, or the next task on the same one
                    seen.pos, seen.length, seen.finished = 0, of, False
                seen.update(done - seen.pos)

        yield tell
