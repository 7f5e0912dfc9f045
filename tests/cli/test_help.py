"""Help says every word that the command line declares, in 80 columns and without colour where it is piped."""

from __future__ import annotations

import re

import pytest


def squeezed(text):
    """The words of a help screen without its frame."""
    return " ".join(re.sub(r"[│╭╮╰╯─]", " ", text).split())


def test_no_word_and_no_bracket_of_a_help_text_is_lost(bizkit, commands, monkeypatch):
    monkeypatch.setenv("COLUMNS", "500")
    missing = []
    for name, command in commands.items():
        shown = squeezed(bizkit(*name.split(), "--help").out)
        said = [command.help or "", *(getattr(one, "help", None) or "" for one in command.params)]
        missing += [(name, one) for one in said if squeezed(one.replace("\\[", "[")) not in shown]
    assert missing == []


@pytest.mark.parametrize("words", [(), ("quote", "send"), ("bank", "import"), ("storage",), ("cost", "add")])
def test_help_fits_80_columns_and_has_no_colour_where_it_is_piped(bizkit, words, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    done = bizkit(*words, "--help")
    assert done.code == 0
    assert [line for line in done.out.splitlines() if len(line) > 80] == []
    assert "\x1b" not in done.out


def test_what_stands_in_brackets_is_there(bizkit):
    assert "[statement.NAME] of studio.toml" in squeezed(bizkit("bank", "import", "--help").out)
    assert "[storage] and [[rushes]] in jobs/JOB.toml" in squeezed(bizkit("storage", "--help").out)
