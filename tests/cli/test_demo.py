"""The demo plays the whole invented job and leaves a studio that verifies."""

from __future__ import annotations

import json
import re
import stat
from pathlib import Path

import pypdf
import pytest


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("demo") / "studio"
    return folder, list(play(folder))


def test_every_step_says_what_was_done_and_what_came_of_it(played):
    _, steps = played
    commands = [step.command for step in steps]
    for start in (
        "bizkit init", "bizkit price", "bizkit quote send", "bizkit quote accept", "bizkit invoice issue",
        "bizkit permission add", "bizkit release add", "bizkit deliverable send", "bizkit deliverable notes",
        "bizkit deliverable approve", "bizkit invoice paid", "bizkit verify", "bizkit rights check",
        "bizkit rights grant", "bizkit rights certificate", "bizkit rights use", "bizkit schedule move",
        "bizkit shots", "bizkit deliverable answer", "bizkit deliverable agree", "bizkit handover make",
        "bizkit handover verify", "bizkit archive add", "bizkit floor", "bizkit weather plan", "bizkit quote compare",
        "bizkit day log", "bizkit cost add", "bizkit job actual", "bizkit quote postpone", "bizkit late remind",
        "bizkit bank import", "bizkit bank book", "bizkit invoice export", "bizkit job money", "bizkit report bundle",
    ):  # fmt: skip
        assert any(command.startswith(start) for command in commands), start
    days = [step.on for step in steps]
    assert days == sorted(days)
    assert steps[-1].outcome.endswith("nothing is wrong")


def test_what_is_left_is_a_paid_job_with_papers_to_look_at(bizkit, played, monkeypatch):
    folder, _ = played
    monkeypatch.chdir(folder)
    assert stat.S_IMODE(folder.stat().st_mode) & 0o077 == 0
    assert {row["state"] for row in bizkit("invoice", "list", "--json", "--on", "2027-07-20").data} == {"paid"}
    job = bizkit("job", "show", "follow-the-kelp", "--json", "--on", "2027-07-20").data
    assert {one["state"] for one in job["deliverables"]} == {"approved"}
    assert job["missing"] == []
    papers = sorted(path.name for path in (folder / "papers").glob("*.pdf"))
    assert papers == [
        "DN-2027-0001.pdf", "GL-2027-0001.pdf", "GL-2027-0002.pdf", "GL-2027-0003.pdf", "LC-2027-0001-r1.pdf",
        "LC-2027-0001-r2.pdf", "Q-2027-0001-r1.pdf", "Q-2027-0001-r2.pdf", "Q-2027-0002-r1.pdf", "Q-2027-0002-r2.pdf",
        "reminder-GL-2027-0002-friendly.pdf",
    ]  # fmt: skip
    assert bizkit("verify").code == 0


def test_everybody_in_it_can_only_be_reached_in_drama_or_at_an_example(played):
    folder, _ = played
    texts = [path.read_text(encoding="utf-8") for path in folder.rglob("*.toml")]
    texts += [
        "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages) for path in folder.rglob("*.pdf")
    ]
    for text in texts:
        for domain in re.findall(r"[\w.-]+@([\w.-]+)|www\.([\w.-]+)", text):
            name = "".join(domain).strip(".")
            assert name.endswith((".example", "example.com", "example.org")), name
        # Ofcom: 01632 960000 to 960999 and 07700 900000 to 900999 are kept for drama.
        for number in re.findall(r"\b0\d{4} ?\d{6}\b", text):
            assert re.fullmatch(r"01632 ?960\d{3}|07700 ?900\d{3}", number), number


def test_the_command_prints_the_steps_and_where_the_papers_are(bizkit, tmp_path):
    done = bizkit("demo", tmp_path / "studio", "--json")
    assert done.code == 0
    data = json.loads(done.out)
    assert len(data["papers"]) == 11
    assert all((tmp_path / "studio" / name).is_file() for name in data["papers"])
    assert bizkit("demo", tmp_path / "studio").code == 2
    assert Path(data["folder"]).is_dir()


def test_a_team_plays_the_same_job_in_a_postgresql_book(bizkit, tmp_path, postgresql_url, monkeypatch):
    from sqlalchemy import create_engine, text

    from bizkit.services.demo.playing import play

    server = create_engine(postgresql_url, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS bizkit_demo WITH (FORCE)"))
        connection.execute(text("CREATE DATABASE bizkit_demo"))
    url = server.url.set(database="bizkit_demo").render_as_string(hide_password=False)
    folder = tmp_path / "studio"
    steps = list(play(folder, book_url=url))
    assert steps[-1].outcome.endswith("nothing is wrong")
    assert not (folder / "book.sqlite").exists()
    monkeypatch.chdir(folder)
    assert bizkit("verify").code == 0
    assert [row["state"] for row in bizkit("invoice", "list", "--json").data] == ["paid", "paid", "paid"]
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE bizkit_demo WITH (FORCE)"))
    server.dispose()
