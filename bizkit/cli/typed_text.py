"""What is typed for a command is what papers, mails and the book can carry, or it is refused here, before it runs."""

from __future__ import annotations

import functools
from typing import Any

#: What an option shows that takes text of several lines.
LINES = "LINES"

#: Largest whole number that any command takes: no count, number of a row or span of days needs more. The least is 1,
#: but for an option that says another.
LARGEST = 999_999_999


def check_typed(command: Any) -> None:
    """Let `command`, or each command below it, look at what is typed for it before it runs.

    Names of files are left to what opens them. The command then raises BadInput, naming the option.
    """
    for inner in getattr(command, "commands", {}).values():
        check_typed(inner)
    if command.callback is None or hasattr(command, "commands"):
        return
    run = command.callback
    labels = {one.name: _label(one) for one in command.params}
    long = {one.name for one in command.params if one.metavar == LINES}
    least = {one.name: _least(one) for one in command.params}

    @functools.wraps(run)
    def checked(**typed: Any) -> Any:
        from bizkit.domain.errors import BadInput
        from bizkit.domain.plain_text import check_text

        for name, value in typed.items():
            field = labels.get(name, name)
            for one in value if isinstance(value, list | tuple) else (value,):
                if isinstance(one, str):
                    check_text(one, field=field, lines=name in long)
                elif isinstance(one, int) and not isinstance(one, bool):
                    if one > LARGEST:
                        raise BadInput(wanted=f"a number of {LARGEST:,} or less", got=one, field=field)
                    if least[name] is None and one < 1:
                        raise BadInput(wanted="a number of 1 or more", got=one, field=field)
        return run(**typed)

    command.callback = checked


def _least(parameter: Any) -> Any:
    """The least whole number that an option says it takes, None where it says none; by typer of today and before."""
    return parameter.min if hasattr(parameter, "min") else getattr(getattr(parameter, "type", None), "min", None)


def _label(parameter: Any) -> str:
    """`--what`, or the name of an argument as the help shows it."""
    long = next((one for one in parameter.opts if one.startswith("--")), "")
    return long or (parameter.metavar or parameter.name.upper()).strip("[].")
