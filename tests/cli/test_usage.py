"""The words of a command: what is wrong with them is one line too, and help is at hand."""

from __future__ import annotations

import pytest

from bizkit.cli.main import COMMANDS


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["quot", "list"], "No such command 'quot'. Did you mean quote? See bizkit --help"),
        (["quote", "lst"], "No such command 'lst'. Did you mean 'list'? See bizkit quote --help"),
        (["price"], "Missing argument 'brief'. See bizkit price --help"),
        (["status", "--withn", "3"], "See bizkit status --help"),
        (["status", "--within", "soon"], "--within"),
    ],
)
def test_a_wrong_word_is_one_line_with_exit_code_two(bizkit, studio, arguments, said):
    done = bizkit(*arguments)
    assert done.code == 2
    assert done.out == ""
    (line,) = done.err.splitlines()
    assert line.startswith("bizkit: ")
    assert said in line


def test_help_and_version_are_no_errors(bizkit):
    assert bizkit("--version").out.startswith("bizkit ")
    assert bizkit("quote", "--help").code == 0
    screen = bizkit("--help")
    assert screen.code == 0
    for about, commands in COMMANDS.items():
        assert about in screen.out
        assert all(name in screen.out for name in commands)


def test_every_command_group_can_be_loaded_and_says_what_it_does(bizkit):
    for commands in COMMANDS.values():
        for name in commands:
            done = bizkit(name, "--help")
            assert done.code == 0, name
            assert f"bizkit {name}" in done.out
