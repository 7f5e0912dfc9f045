"""`bizkit demo`: an invented job from brief to paid invoice."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from bizkit.cli.show import JsonOption, as_json_text, say

app = typer.Typer(add_completion=False)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="A new folder for the demo studio.")] = Path("bizkit-demo"),
    as_json: JsonOption = False,
) -> None:
    """Play an invented job from brief to paid invoice and leave the folder to look at."""
    from bizkit.services.demo.playing import leftovers, play

    steps = []
    for step in play(folder):
        steps.append({"on": step.on.isoformat(), "command": step.command, "outcome": step.outcome})
        if not as_json:
            say(f"{step.on}  $ {step.command}")
            say(f"            {step.outcome}")
    papers = leftovers(folder)
    if as_json:
        print(as_json_text({"folder": str(folder), "steps": steps, "papers": papers}))
        return
    say("")
    say(f"Everything is invented. Look at the papers in {folder / 'papers'}:")
    for name in papers:
        say(f"  {name}")
    say(f"Go on from here: cd {shlex.quote(str(folder))} && bizkit status --on 2027-07-20")
