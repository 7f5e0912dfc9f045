"""README shows every command there is."""

import re
from pathlib import Path

import pytest

README = Path(__file__).parents[2] / "README.md"


def commands(group, path: str) -> list[str]:
    """`bizkit quote send` and the like: every command below `group` that is not hidden."""
    if not hasattr(group, "list_commands"):
        return [path]
    context = group.context_class(group, info_name=path)
    inside = {name: group.get_command(context, name) for name in group.list_commands(context)}
    return [
        line for name, command in inside.items() if not command.hidden for line in commands(command, f"{path} {name}")
    ]


def not_shown(group, text: str) -> list[str]:
    """Commands that `text` never names in full."""
    return [command for command in commands(group, "bizkit") if not re.search(rf"{command}(?![\w-])", text)]


@pytest.mark.skipif(README.stat().st_size < 2000, reason="README.md is not written yet")
def test_every_command_is_in_the_readme():
    import typer

    from bizkit.cli.main import app

    assert not_shown(typer.main.get_command(app), README.read_text(encoding="utf-8")) == []


def test_a_command_missing_from_a_text_is_seen():
    import typer

    app, quote = typer.Typer(), typer.Typer()
    app.command("init")(lambda: None)
    quote.command("send")(lambda: None)
    quote.command("draft")(lambda: None)
    app.add_typer(quote, name="quote")
    text = "bizkit init makes a studio; bizkit quote send sends; bizkit quote drafts."
    assert not_shown(typer.main.get_command(app), text) == ["bizkit quote draft"]
