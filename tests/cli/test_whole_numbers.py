"""Whole numbers count things, rows, days or seconds: none of them is below one, at any command."""

from __future__ import annotations

import pytest


def takes(commands):
    """Every option and argument that takes a whole number and names no other least one."""
    for command, found in commands.items():
        for one in found.params:
            described = getattr(one, "type_descriptor", None)
            if described is not None and described.annotation in (int, list[int]) and one.min is None:
                yield command, one


def test_there_are_such_doors(commands):
    found = {command for command, _ in takes(commands)}
    assert {"deliverable check", "report cash", "payment refund", "charge waive", "quote show"} & found


@pytest.mark.parametrize("number", ["0", "-3"])
def test_nothing_below_one_is_taken(bizkit, commands, job, number):
    words = {
        "date": "2027-05-11", "sum_": "10", "amount": "10", "kind": "boat", "by": "Una", "reason": "x",
        "to": "2028-01-01", "received": "2027-05-11", "signed": "2027-05-11",
    }  # fmt: skip
    for command, one in takes(commands):
        options, places = [], []
        for other in commands[command].params:
            name = next((each for each in other.opts if each.startswith("--")), "")
            whole = other.type_descriptor.annotation in (int, list[int])
            value = number if other is one else "1" if whole else words.get(other.name, job)
            if other is one or other.required:
                (options if name else places).extend([name, value] if name else [value])
        given = [*options, "--", *places]
        done = bizkit(*command.split(), *given)
        assert done.code == 2, (command, given, done.out)
        assert "Traceback" not in done.err
        assert "wanted a number of 1 or more, got " in done.err, (command, given, done.err)
        assert len(done.err.splitlines()) == 1, (command, done.err)
