"""The watched process: every file is looked at in a process of its own, with bounds on time and memory.

Media files come from anywhere and the decoders are large: a file made or broken in the right way may make one crash,
hang or ask for all memory. Here that ends in one clear error, and nothing but plain JSON comes back.
"""

from __future__ import annotations

import json
import math
import os
import queue
import re
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Any

import bizkit
from bizkit.domain.errors import BadInput, RuleBroken, one_line
from bizkit.masters.source import Progress

#: A sign of life is due at least this often; the process that gives none is stopped.
STALL_S = 60
#: Longest answer that is read, in bytes (a contact sheet is far below).
ANSWER_MOST_BYTES = 64 << 20
_POINTER = re.compile(r" @ 0x[0-9a-f]+")


class Stopped(BadInput):
    """A file whose reader ended on it. how: by which signal or code, and its last words."""

    def __init__(self, name: str, how: str) -> None:
        self.how = how
        super().__init__(
            wanted="a file that can be read",
            got=f"one that stops its reader ({how})",
            where=name,
            hint="Play it to the end in another program; if it does not play there either, export it again",
        )


class TooSlow(RuleBroken):
    """A file whose reader took too long or gave no sign of life."""


def watched(
    task: str,
    arguments: Sequence[str | Path],
    *,
    name: str,
    time_limit_s: float,
    progress: Progress | None = None,
) -> tuple[Any, tuple[str, ...]]:
    """The answer of `bizkit.masters.child` to `task`, and what the decoders complained of (the first few lines).

    name: of the file, for messages. Raises BadInput for a file that cannot be read, Stopped for one that stops its
    reader, TooSlow past the time limit, RuleBroken when the optional extra is missing.
    """
    root = str(Path(bizkit.__file__).resolve().parent.parent)
    environment = dict(os.environ)
    environment["PYTHONPATH"] = os.pathsep.join(part for part in (root, environment.get("PYTHONPATH", "")) if part)
    environment["OPENBLAS_NUM_THREADS"] = environment["OMP_NUM_THREADS"] = "1"
    # -P: a file called av.py in the folder of a delivery must not become the reader.
    command = [sys.executable, "-P", "-W", "ignore", "-m", "bizkit.masters.child", task, *map(str, arguments)]
    started_s = time.monotonic()
    process = subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment
    )
    assert process.stdout is not None
    assert process.stderr is not None
    answers: queue.Queue[bytes] = queue.Queue(maxsize=1000)
    complaints: list[str] = []
    threads = [
        threading.Thread(target=_lines, args=(process.stdout, answers), daemon=True),
        threading.Thread(target=_complaints, args=(process.stderr, complaints), daemon=True),
    ]
    for thread in threads:
        thread.start()
    try:
        while True:
            left_s = started_s + time_limit_s - time.monotonic()
            try:
                line = answers.get(timeout=max(0.0, min(left_s, STALL_S)))
            except queue.Empty:
                raise _too_slow(name, time_limit_s, stalled=left_s > STALL_S) from None
            if left_s <= 0:
                raise _too_slow(name, time_limit_s, stalled=False)
            if not line:
                raise _stopped(name, process.wait(), complaints)
            answer = _parsed(line, name)
            if "done" in answer:
                if progress:
                    progress(int(answer["done"]), int(answer["of"]))
            elif "result" in answer:
                process.wait()
                threads[1].join(5)
                return answer["result"], tuple(complaints)
            else:
                raise _refusal(answer)
    finally:
        process.kill()
        process.wait()
        # The pipes end with the process; a reader waiting for room in the queue is let go.
        while threads[0].is_alive():
            try:
                answers.get(timeout=0.05)
            except queue.Empty:
                continue
        threads[1].join(5)
        process.stdout.close()
        process.stderr.close()


def _lines(pipe: IO[bytes], answers: queue.Queue[bytes]) -> None:
    while line := pipe.readline(ANSWER_MOST_BYTES):
        answers.put(line)
    answers.put(b"")


def _complaints(pipe: IO[bytes], complaints: list[str]) -> None:
    while line := pipe.readline(4096):
        if len(complaints) < 20:
            complaints.append(one_line(_POINTER.sub("", line.decode("utf-8", "replace")), 120))


def _parsed(line: bytes, name: str) -> dict[str, Any]:
    try:
        answer = json.loads(line)
    except ValueError:
        answer = None
    if not isinstance(answer, dict):
        raise BadInput(wanted="a file that can be read", got="one that confuses its reader", where=name)
    return answer


def _too_slow(name: str, time_limit_s: float, *, stalled: bool) -> TooSlow:
    if stalled:
        return TooSlow(f"{name}: its reader gave no sign of life for {STALL_S} s and was stopped: the file is broken")
    return TooSlow(
        f"{name}: looking at it took longer than {math.ceil(time_limit_s)} s and was stopped: allow more time"
    )


def _stopped(name: str, code: int, complaints: Sequence[str]) -> Stopped:
    how = f"signal {-code}" if code < 0 else f"code {code}"
    return Stopped(name, f"{how}, {complaints[-1]}" if complaints else how)


def _refusal(answer: dict[str, Any]) -> BadInput | RuleBroken:
    if "missing" in answer:
        return RuleBroken(
            f"looking at files needs {answer['missing']}: install bizkit with its extra bizkit[masters]"
        )
    parts = {key: str(answer.get(key, "")) for key in ("wanted", "got", "field", "where", "hint")}
    return BadInput(**parts)
