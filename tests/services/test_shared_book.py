"""A team's book: each member with papers of their own, and an older copy of the database put back."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

from bizkit.domain.errors import RuleBroken
from bizkit.services.billing.deposits import invoice_deposit
from bizkit.services.billing.mailing import write_mail
from bizkit.services.overview.verifying import verify_book
from bizkit.services.studio.rebuilding import rebuild_papers
from bizkit.services.studio.studio_folder import StudioFolder

KELP, GULLS = "follow-the-kelp", "mind-the-gulls"
ON = date(2027, 2, 10)


def deposit(folder: StudioFolder, job: str, on: date = ON) -> str:
    return str(invoice_deposit(folder, job, "1.20", on, received_on=on)["number"])


@pytest.fixture
def team(
    fresh_postgresql: str, open_jobs: Callable[..., StudioFolder], tmp_path: Path
) -> tuple[StudioFolder, StudioFolder]:
    """Two members, one book; the second has the settings and no papers yet."""
    one = open_jobs(tmp_path / "ailsa", fresh_postgresql)
    shutil.copytree(one.path, tmp_path / "rowan", ignore=shutil.ignore_patterns("papers"))
    return one, StudioFolder(tmp_path / "rowan", who="Rowan Lark")


def test_two_folders_of_one_book_each_get_every_paper_and_no_number_twice(team, tmp_path):
    ailsa, rowan = team
    assert deposit(ailsa, KELP) == "GL-2027-0001"
    # Another job goes on at once; the same one wants its paper first, which also says that it was billed just now.
    assert deposit(rowan, GULLS) == "GL-2027-0002"
    with pytest.raises(
        RuleBroken, match=r"GL-2027-0001 was issued on 2027-02-10, and papers/GL-2027-0001.pdf is missing"
    ):
        deposit(rowan, KELP)
    assert rebuild_papers(rowan, ["GL-2027-0001"])["made"] == ["papers/GL-2027-0001.pdf"]
    assert deposit(rowan, KELP) == "GL-2027-0003"
    for folder in team:
        rebuild_papers(folder)
        assert verify_book(folder)["faults"] == []
    papers = [{path.name: path.read_bytes() for path in folder.papers.glob("*.pdf")} for folder in team]
    assert papers[0] == papers[1]


def test_a_paper_drawn_with_another_wording_is_a_paper_for_both(team, tmp_path):
    """Rowan's folder has wording of its own: what is drawn there has other bytes, and both are papers of the book."""
    from bizkit.resources import templates

    ailsa, rowan = team
    own = rowan.path / "templates" / "papers" / "en"
    own.mkdir(parents=True)
    for part in templates().joinpath("papers", "en").iterdir():
        words = part.read_text(encoding="utf-8")
        (own / part.name).write_text(
            words.replace("<footer>{{ studio.name }}", "<footer>{{ studio.name }}, by boat"), "utf-8"
        )
    number = deposit(ailsa, KELP)
    assert rebuild_papers(rowan, [number])["anew"] == [f"papers/{number}.pdf"]
    for folder in team:
        write_mail(folder, number, ON, out=tmp_path / "mail.eml")
        assert [fault for fault in verify_book(folder)["faults"] if number in fault] == []
        assert rebuild_papers(folder, [number])["set_aside"] == []


def test_an_older_copy_of_the_database_issues_nothing_beside_newer_papers(team, fresh_postgresql, monkeypatch):
    ailsa, _ = team
    assert deposit(ailsa, KELP) == "GL-2027-0001"
    url = make_url(fresh_postgresql)
    older = url.set(database="bizkit_services_older")
    root = create_engine(url.set(database="postgres"), isolation_level="AUTOCOMMIT")
    with root.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS bizkit_services_older WITH (FORCE)"))
        connection.execute(text("CREATE DATABASE bizkit_services_older TEMPLATE bizkit_services"))
    try:
        assert deposit(ailsa, KELP) == "GL-2027-0002"
        given = (ailsa.papers / "GL-2027-0002.pdf").read_bytes()
        monkeypatch.setenv("BIZKIT_BOOK", older.render_as_string(hide_password=False))
        back = StudioFolder(ailsa.path, who="Ailsa Gannet")
        assert [line.split(":")[0] for line in verify_book(back)["faults"]] == ["papers/GL-2027-0002.pdf"]
        with pytest.raises(RuleBroken, match=r"papers/GL-2027-0002.pdf lies there already and is another paper"):
            deposit(back, GULLS)
        with pytest.raises(RuleBroken, match=r"papers/GL-2027-0002.pdf lies there already and is another paper"):
            deposit(back, KELP, date(2027, 2, 11))
        assert (ailsa.papers / "GL-2027-0002.pdf").read_bytes() == given
        assert deposit(back, KELP) == "GL-2027-0002"
        assert verify_book(back)["faults"] == []
        back.book.close()
    finally:
        with root.connect() as connection:
            connection.execute(text("DROP DATABASE bizkit_services_older WITH (FORCE)"))
        root.dispose()
