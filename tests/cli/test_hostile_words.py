"""Whatever words a command is given, it ends in one line and an exit code, never in a traceback or a report.

The words are drawn by a seed: half of them fit, so that commands get past their first check.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

FIT = {
    "job": ["follow-the-kelp", "gannet-week"], "invoice": ["GL-2027-0001", "GL-2027-0003"],
    "number": ["GL-2027-0003", "Q-2027-0002", "reminder-GL-2027-0002-friendly"], "key": ["gannet-week", "stills"],
    "quote": ["Q-2027-0001", "gannet-week"], "deliverable": ["campaign-film", "stills"], "licence": ["LC-2027-0001"],
    "client": ["skerrow-islands-tourism"], "person": ["Eilidh Rendall", "person-1"], "who": ["Isla Marwick"],
    "name": ["LC-2027-0001", "GL-2027-0003"], "amount": ["10.00", "1"], "kind": ["talent_release", "boat", "vessel"],
    "media": ["online"], "where": ["World"], "reason": ["agreed"], "on": ["2027-09-01", "2027-06-14"],
    "first": ["2027-01-01"], "last": ["2027-12-31"], "entry": ["1", "2"], "paper": ["1", "2"], "day": ["2027-05-12"],
    "brief": ["gannet-week"],
}  # fmt: skip
HOSTILE = [
    "", " ", "-1", "0", "1e400", "NaN", "inf", "9" * 40, "1,50", "\0", "a\nb", "\u202eb", "é" * 300, "%s%n",
    "'; drop table x", "\udcff", "2027-02-30", "9999-12-31", "0001-01-01", "💥", "{year}", "*", "--", "=", "a=b",
    "25:61", "0x10", "1=" + "9" * 30, "½", "person-99999999999999999999", "../../x",
]  # fmt: skip


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    return folder


def test_every_command_ends_in_one_line_whatever_it_is_given(bizkit, commands, played, tmp_path, monkeypatch):
    folder = tmp_path / "studio"
    shutil.copytree(played, folder)
    monkeypatch.chdir(folder)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    files = [
        "incoming/july.csv",
        "incoming/eilidh-rendall.pdf",
        "deliveries",
        "briefs/gannet-week.toml",
        "studio.toml",
    ]
    dice = random.Random(5)

    def word(option) -> str:
        if dice.random() < 0.5:
            if option.name in FIT:
                return dice.choice(FIT[option.name])
            return dice.choice(files) if getattr(option.bare_type, "__name__", "") == "Path" else "1"
        return dice.choice(HOSTILE)

    ran = 0
    for path, command in [*commands.items()] * 3:
        if path in ("demo", "init"):
            continue
        words = path.split()
        for option in command.params:
            if option.name in ("help", "studio"):
                continue
            if option.param_type_name == "argument":
                words.append(word(option))
            elif getattr(option, "is_flag", False):
                words += [option.opts[0]] if dice.random() < 0.2 else []
            elif option.required or option.name == "on" or dice.random() < 0.2:
                words += [option.opts[0], word(option)]
        done = bizkit(*words)
        ran += 1
        assert done.code in (0, 1, 2), (words, done)
        assert "a fault of bizkit itself" not in done.err, (words, done.err)
        assert len(done.err.splitlines()) <= 1, (words, done.err)
        if done.code == 2:
            assert done.err.startswith("bizkit: "), (words, done.err)
    assert ran > 360
    assert not (tmp_path / "state").exists()
    checked = bizkit("verify", "--json").data
    assert checked["faults"] == []
