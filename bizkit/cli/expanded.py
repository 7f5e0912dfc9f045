"""Options that several commands share, written once as a dataclass: a command takes it as one parameter."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints


def expanded(command: Callable[..., None]) -> Callable[..., None]:
    """The command with each parameter that is a dataclass of options spread out into those options.

    A field of the dataclass is written as a parameter is: `Annotated[TYPE, typer.Option(...)] = DEFAULT`.
    """
    hints = get_type_hints(command, include_extras=True)
    groups: dict[str, Any] = {name: hint for name, hint in hints.items() if is_dataclass(hint)}
    parameters = []
    for name, one in inspect.signature(command).parameters.items():
        if name not in groups:
            parameters.append(one.replace(kind=inspect.Parameter.KEYWORD_ONLY, annotation=hints[name]))
            continue
        types = get_type_hints(groups[name], include_extras=True)
        parameters += [
            inspect.Parameter(
                option.name, inspect.Parameter.KEYWORD_ONLY, default=option.default, annotation=types[option.name]
            )
            for option in fields(groups[name])
        ]

    def call(**given: Any) -> None:
        made = {
            name: group(**{option.name: given.pop(option.name) for option in fields(group)})
            for name, group in groups.items()
        }
        command(**given, **made)

    call.__name__, call.__doc__, call.__module__ = command.__name__, command.__doc__, command.__module__
    call.__annotations__ = {one.name: one.annotation for one in parameters}
    call.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    return call
