"""A day without a meal break ends earlier, and the quote says when: what is billed beyond it stands there."""

from __future__ import annotations

import pypdf


def test_the_quote_says_after_how_many_hours_a_day_without_a_break_ends(bizkit, studio):
    (studio / "briefs" / "dawn.toml").write_text(
        'key = "dawn"\nclient = "skerrow-islands-tourism"\ntitle = "Dawn"\n'
        '[[days]]\ndate = 2027-08-06\nkind = "dry"\ncontinuous = true\ncall = "08:00"\nwrap = "17:00"\n'
        'crew = [{ roles = ["director"] }]\n',
        encoding="utf-8",
    )
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, "dawn", "--on", "2027-02-01", "--json")
        assert done.code == 0, done.err
    file = bizkit("quote", "show", "dawn", "--json").data["file"]
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())
    assert "A day without a meal break (6 August 2027) ends after 9 hours; each beyond costs as above." in text
    over = bizkit(
        "day", "log", "dawn", "2027-08-06", "--call", "08:00", "--wrap", "18:30", "--on", "2027-08-06", "--json"
    )
    assert over.data["overrun"] == "117.00"  # 1.5 h beyond 9 at 1.5 x 52.00


def test_a_quote_without_such_a_day_says_nothing_of_it(bizkit, job):
    shown = bizkit("quote", "show", job, "--json").data
    assert "continuous_hours" not in shown["document"]["extras"]["overtime"]
