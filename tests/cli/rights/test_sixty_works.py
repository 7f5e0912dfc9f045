"""A job of sixty cuts: what is said of them stays a line, and what is kept names them all."""

from __future__ import annotations

import pytest

KEY = "sixty"
CUTS = [f"cut-{number:02}" for number in range(1, 61)]


@pytest.fixture
def sixty(bizkit, studio):
    text = (studio / "briefs" / "follow-the-kelp.toml").read_text("utf-8")
    text = text.replace('key = "follow-the-kelp"', f'key = "{KEY}"', 1)
    start, end = text.index("[[deliverables]]"), text.index("# ---", text.index('key = "stills"'))
    cuts = "".join(
        f'[[deliverables]]\nkey = "{cut}"\ntitle = "{cut.capitalize()}"\nkind = "film"\nrounds = 1\ndue_days = 9\n\n'
        for cut in CUTS
    )
    (studio / "briefs" / f"{KEY}.toml").write_text(text[:start] + cuts + text[end:], "utf-8")
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, KEY, "--on", "2027-02-09")
        assert done.code == 0, done.err
    return KEY


def test_no_line_grows_with_the_works_and_what_is_kept_names_all(bizkit, sixty, tmp_path):
    drive = tmp_path / "drive"
    drive.mkdir()
    (drive / "cut.mov").write_bytes(b"a cut")
    for words in (
        ("rights", "check", sixty), ("status",), ("job", "show", sixty), ("rights", "grant", sixty),
        ("handover", "make", sixty, drive),
    ):  # fmt: skip
        done = bizkit(*words, "--on", "2027-06-01")
        for line in (done.out + done.err).splitlines():
            assert sum(cut in line for cut in CUTS) <= 6, line
    assert "and 55 more" in bizkit("rights", "check", sixty, "--on", "2027-06-01").out
    granted = bizkit("rights", "grant", sixty, "--override", "papers follow", "--on", "2027-06-01")
    assert granted.code == 0, granted.err
    (kept,) = bizkit("rights", "check", sixty, "--on", "2027-06-01", "--json").data["overrides"]
    (unsaid,) = [one for one in kept["against"] if "who appears in" in one]
    assert all(cut in unsaid for cut in CUTS)
