"""The command line through its real entry, in this process: exit code, output, one line of error."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from bizkit.cli.main import run

BRIEF = "follow-the-kelp"


@dataclass(frozen=True)
class Done:
    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        return json.loads(self.out)


Bizkit = Callable[..., Done]


@pytest.fixture
def bizkit(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Bizkit:
    """`bizkit(...)` runs the entry point with these arguments and returns what it printed and its exit code."""
    monkeypatch.delenv("BIZKIT_STUDIO", raising=False)
    monkeypatch.delenv("BIZKIT_BOOK", raising=False)
    monkeypatch.setenv("BIZKIT_WHO", "Ailsa Gannet")

    def call(*arguments: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["bizkit", *(str(one) for one in arguments)])
        capsys.readouterr()
        try:
            run()
            code = 0
        except SystemExit as leaving:
            code = leaving.code if isinstance(leaving.code, int) else 0 if leaving.code is None else 1
        printed = capsys.readouterr()
        return Done(code, printed.out, printed.err)

    return call


@pytest.fixture(scope="session")
def commands() -> dict[str, Any]:
    """Every command there is, "quote send" and so on, found from the tree of the command line and not from a list."""
    import typer

    from bizkit.cli.main import app

    def below(group: Any, path: str) -> Iterator[tuple[str, Any]]:
        if not hasattr(group, "list_commands"):
            yield path, group
            return
        context = group.context_class(group, info_name=path)
        for name in group.list_commands(context):
            yield from below(group.get_command(context, name), f"{path} {name}".strip())

    return dict(below(typer.main.get_command(app), ""))


@pytest.fixture
def make_real(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """`make_real(studio)`: it issues for real, on a machine that has seen no other copy of its book."""

    def make(studio: Path) -> None:
        for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
            monkeypatch.setenv(name, str(tmp_path / "machine"))
        settings = studio / "studio.toml"
        text = settings.read_text("utf-8")
        assert "practice = true" in text
        settings.write_text(text.replace("practice = true", "practice = false", 1), "utf-8")

    return make


@pytest.fixture(scope="session")
def starter_studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio as `bizkit init --practice` makes it, since the tests live in 2027; copied, never worked in."""
    from bizkit.services.studio.starting import init_studio

    folder = tmp_path_factory.mktemp("starter") / "studio"
    init_studio(folder, practice=True)
    return folder


@pytest.fixture
def studio(starter_studio: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh studio, and the current folder inside it."""
    folder = tmp_path / "studio"
    shutil.copytree(starter_studio, folder)
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    """A real one-page PDF to file as a signed paper."""
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "signed.pdf"
    canvas = Canvas(str(path), invariant=True)
    canvas.drawString(72, 720, "Signed on paper")
    canvas.save()
    return path


@pytest.fixture(scope="session")
def job_studio(starter_studio: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with an accepted quote; copied, never worked in."""
    from datetime import date

    from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
    from bizkit.services.studio.studio_folder import StudioFolder

    path = tmp_path_factory.mktemp("job") / "studio"
    shutil.copytree(starter_studio, path)
    folder = StudioFolder(path, who="Ailsa Gannet")
    draft_quote(folder, Path(BRIEF), date(2027, 1, 26))
    send_quote(folder, BRIEF, date(2027, 1, 26))
    accept_quote(folder, BRIEF, date(2027, 2, 8))
    return path


@pytest.fixture
def job(studio: Path, job_studio: Path) -> str:
    """An accepted quote: the job's key."""
    shutil.copytree(job_studio, studio, dirs_exist_ok=True)
    return BRIEF


@pytest.fixture
def change() -> Callable[[Path, str, str], None]:
    """Replace a text, which must be there, in a settings file."""

    def replace(path: Path, old: str, new: str) -> None:
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {path.name}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    return replace


@pytest.fixture
def bank_columns() -> str:
    """The columns of a bank's CSV, as a table of the settings."""
    return """
[statement.harbour]
date = "Date"
amount = "Amount"
text = "Details"
name = "From"
date_format = "dd/mm/yyyy"
"""


@pytest.fixture
def bills(bizkit: Bizkit, job: str, studio: Path, bank_columns: str) -> list[str]:
    """Two open invoices of 120.00 and 240.00, and the columns of a bank in the settings."""
    for day, amount in ((1, "100"), (2, "200")):
        on = f"2027-05-0{day}"
        bizkit(
            "charge", "add", job, "--what", f"Extra {day}", "--amount", amount, "--reason", "asked", "--agreed",
            "Una, by mail", "--on", on,
        )  # fmt: skip
        bizkit("invoice", "issue", job, "--charges", "--on", on)
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(bank_columns)
    return ["GL-2027-0001", "GL-2027-0002"]


@pytest.fixture
def notice_scale() -> str:
    """The scale a lighting firm publishes: notice counts from the day it is given, the shoot day itself does not; for
    a shoot on a Friday 0 % a week before, then 50, 75, 75 and 100 % from Monday on."""
    return """
[cancellation]
counting = "working"
counts_notice_day = true
counts_to = "first_day"
steps = [
  { notice_days = 5, percent = 0 },
  { notice_days = 4, percent = 50 },
  { notice_days = 2, percent = 75 },
  { notice_days = 0, percent = 100 },
]
postponement_steps = [
  { notice_days = 4, percent = 0 },
  { notice_days = 0, percent = 40 },
]
"""
