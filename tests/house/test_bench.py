"""The bench of growing lists still plays its two jobs and writes them again; the figures are for a quiet machine."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import sqlite3


def test_the_bench_makes_its_book(checkout, tmp_path):
    loader = importlib.machinery.SourceFileLoader("bench", str(checkout / "tests" / "bench" / "run"))
    bench = importlib.util.module_from_spec(importlib.util.spec_from_loader("bench", loader))
    loader.exec_module(bench)
    bench.small(tmp_path / "small")
    folder = bench.grown(tmp_path, bench.OPEN + 6)
    with sqlite3.connect(folder / "book.sqlite") as book:
        open_, closed = (
            book.execute(f"SELECT count(*) FROM job WHERE closed_on {sign} ''").fetchone()[0] for sign in ("=", "<>")
        )
    assert open_ + closed == bench.OPEN + 6
    for words in bench.LISTS:
        bench.bizkit(folder, *words.split())
