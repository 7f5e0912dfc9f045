"""What runs inside the watched process: the tasks `look PATH`, `look_unheard PATH` and `sheet FRAMES FORM PATH...`.

Answers on standard output, one JSON object a line: {"done", "of"} as it goes, then {"result"}, or what was wrong.
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.work.facts import Facts
from bizkit.masters.source import Source

#: Address space: far more than any film needs with eight frames of 8192 x 8192 in flight, far less than a machine's.
MEMORY_MOST_BYTES = 12 << 30
BEAT_S = 0.2


def main(arguments: list[str]) -> int:
    """Runs one task. What goes wrong is told, not raised; anything else is a bug and ends the process."""
    # Decoders may print: only our own lines reach the parent.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)

    def say(answer: dict[str, Any]) -> None:
        out.write(json.dumps(answer).encode() + b"\n")
        out.flush()

    bound_process()
    try:
        import av

        # Loudness is told in the metadata of sound frames, which older ones do not hand out.
        if not hasattr(av.AudioFrame, "metadata"):
            raise ImportError(name="PyAV 18.1 or newer")
        import av.logging

        av.logging.restore_default_callback()
        av.logging.set_libav_level(av.logging.ERROR)
        say({"result": _run(arguments, _beat(say))})
    except ImportError as error:
        say({"missing": error.name or str(error)})
    except BadInput as error:
        say({key: str(getattr(error, key)) for key in ("wanted", "got", "field", "where", "hint")})
    except MemoryError:
        say(
            {
                "wanted": "a file that can be read",
                "got": "one that asks for too much memory",
                "where": _name(arguments),
            }
        )
    return 0


def _run(arguments: list[str], tell: Callable[[int, int], None]) -> Any:
    task, *rest = arguments
    if task in ("look", "look_unheard"):
        with Source(Path(rest[0]), tell) as source:
            return look_at(source, sound=task == "look").data()
    if task == "sheet":
        from bizkit.masters.sheet import draw_sheet

        return base64.b64encode(draw_sheet([Path(path) for path in rest[2:]], int(rest[0]), rest[1], tell)).decode()
    raise RuleBroken(f"no such task: {task}")


def look_at(source: Source, *, sound: bool = True) -> Facts:
    """The facts of an open file, in this very process; of a film without its `sound` where asked. Raises BadInput."""
    from bizkit.masters.still import format_of

    head = source.read(32)
    source.seek(0)
    if format_of(head):
        from bizkit.masters.still import look_at_still

        return look_at_still(source, head)
    from bizkit.masters.film import look_at_film

    return look_at_film(source, sound=sound)


def _beat(say: Callable[[dict[str, Any]], None]) -> Callable[[int, int], None]:
    """Tells how far it is, a few times a second at most."""
    last_s = 0.0

    def beat(done: int, of: int) -> None:
        nonlocal last_s
        now_s = time.monotonic()
        if now_s - last_s >= BEAT_S:
            last_s = now_s
            say({"done": done, "of": of})

    return beat


def bound_process() -> None:
    """Bounds on memory and on what may be written, where the system has them."""
    try:
        import resource
    except ImportError:
        return
    for what, most in (
        (resource.RLIMIT_AS, MEMORY_MOST_BYTES),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, 0),
    ):
        _, hard = resource.getrlimit(what)
        bound = most if hard == resource.RLIM_INFINITY else min(most, hard)
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(what, (bound, bound))


def _name(arguments: list[str]) -> str:
    return Path(arguments[-1]).name


if __name__ == "__main__":
    sys.dont_write_bytecode = True
    raise SystemExit(main(sys.argv[1:]))
