"""SHA-256 as coreutils' sha256sum prints it, from the very bytes that were looked at."""

import hashlib
import subprocess
import tracemalloc
from pathlib import Path

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.masters.look import checksum
from bizkit.masters.source import Source

from .conftest import moving, seen, tone, write_film


def sha256sum(path: Path) -> str:
    return subprocess.run(["sha256sum", path], capture_output=True, check=True, text=True).stdout.split()[0]


def test_the_published_value(tmp_path: Path) -> None:
    (tmp_path / "hello").write_bytes(b"hello\n")
    # coreutils sha256sum
    assert checksum(tmp_path / "hello") == "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03"


@pytest.mark.parametrize("name", ["film.mp4", "film.mkv", "film.mov", "film.ts"])
def test_films_are_hashed_while_they_are_looked_at(tmp_path: Path, name: str) -> None:
    path = write_film(tmp_path / name, moving(50), [tone(2)])
    assert seen(path).sha256 == checksum(path) == sha256sum(path)


def test_reading_back_and_forth_hashes_every_byte_once(tmp_path: Path) -> None:
    path = tmp_path / "film"
    path.write_bytes(bytes(range(256)) * 400)
    with Source(path, lambda done, of: None) as source:
        for place, size in ((0, 100), (90_000, 5_000), (50, 500), (20, 10), (550, 70_000)):
            source.seek(place)
            source.read(size)
        assert source.sha256() == hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "export.mp4"
    path.write_bytes(b"x" * 5000)
    with Source(path, lambda done, of: None) as source:
        source.read(100)
        with path.open("ab") as more:
            more.write(b"y")
        with pytest.raises(BadInput, match="changed while it was read"):
            source.sha256()


def test_a_large_file_is_read_in_pieces(tmp_path: Path) -> None:
    path = tmp_path / "large"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    told: list[int] = []
    tracemalloc.start()
    checksum(path, lambda done, of: told.append(done))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 4_000_000
    assert told[-1] == 200_000_000
    assert told == sorted(told)


def test_a_missing_file_names_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "hero_v2.mp4").write_bytes(b"x")
    with pytest.raises(NotFound, match=r"Did you mean hero_v2\.mp4\?"):
        checksum(tmp_path / "hero_v3.mp4")
