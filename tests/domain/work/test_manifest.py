"""Manifests, held against coreutils sha256sum itself."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.work.manifest import compare, read_manifest, write_manifest

HELLO = "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03"  # coreutils sha256sum of "hello\n"
A, B = "a" * 64, "b" * 64

#: Names that are a trial for any list of files.
NAMES = {
    "follow-the-kelp_v1.mov": b"hello\n",
    "stills/kelp 01.tif": b"one",
    " leading space": b"two",
    "*star": b"three",
    "back\\slash": b"four",
    "line\nfeed": b"five",
    "carriage\rreturn": b"six",
    "Ærø – Θάλασσα.wav": b"seven",
    "#not a comment": b"eight",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, content in NAMES.items():
        path = tmp_path / "handover" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return tmp_path / "handover"


def sha256sum(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    program = shutil.which("sha256sum")
    assert program, "coreutils are needed for this test"
    return subprocess.run(
        [program, *arguments], cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False
    )


def hashes() -> dict[str, str]:
    return {name: hashlib.sha256(content).hexdigest() for name, content in NAMES.items()}


def test_coreutils_accepts_our_manifest(folder: Path) -> None:
    (folder.parent / "list.sha256").write_text(write_manifest(hashes()), encoding="utf-8", newline="")
    checked = sha256sum("--check", "--strict", "--quiet", "../list.sha256", folder=folder)
    assert (checked.returncode, checked.stdout, checked.stderr) == (0, "", "")


def test_coreutils_finds_a_changed_file_by_our_manifest(folder: Path) -> None:
    (folder.parent / "list.sha256").write_text(write_manifest(hashes()), encoding="utf-8", newline="")
    (folder / "follow-the-kelp_v1.mov").write_bytes(b"hello!\n")
    checked = sha256sum("--check", "--strict", "../list.sha256", folder=folder)
    assert checked.returncode == 1
    assert "follow-the-kelp_v1.mov: FAILED" in checked.stdout


@pytest.mark.parametrize("form", [[], ["--binary"], ["--tag"]])
def test_we_read_what_coreutils_writes(folder: Path, form: list[str]) -> None:
    made = sha256sum(*form, "--", *NAMES, folder=folder)
    assert made.returncode == 0
    assert read_manifest(made.stdout) == hashes()
    assert hashes()["follow-the-kelp_v1.mov"] == HELLO


def test_comments_empty_lines_and_windows_line_ends_are_passed_over() -> None:
    assert read_manifest(f"\ufeff# handed over 2027-06-11\r\n\r\n{A.upper()} *a.mov\r\n") == {"a.mov": A}


def test_a_name_may_begin_at_the_folder() -> None:
    # As `find . -type f -exec sha256sum {} +` writes them.
    assert read_manifest(f"{A}  ./stills/a.tif\n") == {"stills/a.tif": A}


def test_a_name_that_begins_like_a_comment_survives() -> None:
    assert read_manifest(write_manifest({"#1.mov": A})) == {"#1.mov": A}


def test_a_folder_is_held_against_its_manifest() -> None:
    wanted = {"one": A, "two": B, "three": "c" * 64, "four": "d" * 64}
    found = {"one": A, "two": A, "3": "c" * 64, "more": "e" * 64}
    result = compare(wanted, found)
    assert (result.intact, result.changed, result.missing) == (("one",), ("two",), ("four",))
    assert (result.moved, result.extra, result.whole) == ((("three", "3"),), ("more",), False)
    assert compare(wanted, wanted).whole


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "list: wanted one file or more, got none"),
        ("hello", "list, line 1: wanted a SHA-256, two spaces and a file name, got hello"),
        (f"{A[:-1]}  a", f"list, line 1: wanted a SHA-256, two spaces and a file name, got {A[:-1]} a"),
        (f"{A}  a\n{B}  a", "list, line 2: wanted each file once, got a again"),
        (f"{A}  ../a", "list, line 1: wanted a file name inside the folder, got ../a"),
        (f"{A}  /etc/passwd", "list, line 1: wanted a file name inside the folder, got /etc/passwd"),
        (f"{A}  a/../../b", "list, line 1: wanted a file name inside the folder, got a/../../b"),
        (f"{A}  C:\\a", "list, line 1: wanted a file name inside the folder, got C:\\a"),
        (f"{A}  a\\..\\..\\b", "list, line 1: wanted a file name inside the folder, got a\\..\\..\\b"),
        (f"\\{A}  a\\tb", "list, line 1: wanted \\\\, \\n or \\r in an escaped name, got \\t"),
        (f"\\{A}  a\\", "list, line 1: wanted \\\\, \\n or \\r in an escaped name, got \\"),
    ],
)
def test_lists_that_cannot_be_used_are_refused_in_one_line(text: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read_manifest(text, where="list")
    assert str(error.value) == line


def test_a_manifest_of_wrong_names_or_hashes_is_not_written() -> None:
    with pytest.raises(BadInput, match="inside the folder, got /a"):
        write_manifest({"/a": A})
    with pytest.raises(BadInput, match="a: wanted a SHA-256 of 64 lower-case hexadecimal digits, got 123"):
        write_manifest({"a": "123"})


@given(st.dictionaries(st.text(st.characters(exclude_characters="\0/", codec="utf-8"), min_size=1), st.binary()))
def test_writing_and_reading_go_round(files: dict[str, bytes]) -> None:
    wanted = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    try:
        text = write_manifest(wanted)
    except BadInput:
        return
    if wanted:
        assert read_manifest(text) == wanted


@given(st.text() | st.from_regex(r"\\?[0-9a-f]{64} [ *].*", fullmatch=True))
def test_no_text_whatever_gives_worse_than_bad_input(text: str) -> None:
    try:
        found = read_manifest(text)
    except BadInput:
        return
    assert read_manifest(write_manifest(found)) == found
