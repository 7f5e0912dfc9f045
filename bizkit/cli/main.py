"""`bizkit`: the root of the command line. Each command's module is imported only when it is called."""

from __future__ import annotations

import importlib
import sys
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from bizkit import __version__
from bizkit.domain.errors import BizkitError

#: command -> (module, what it does); in the order of a job.
COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("init", "Make a studio folder with a starter rate card, a sample brief and an empty book."),
    "rates": ("rates", "Look at the rate card and check it."),
    "floor": ("floor", "The day rate below which the studio loses money."),
    "price": ("price", "Price a brief without storing anything; every line says why."),
    "weather": ("weather", "Chances of a workable day from past days; the weather plan of a brief."),
    "kit": ("kit", "Who and what is booked, where jobs clash, kit due for service, kit paid back."),
    "deal": ("deal", "Days bought ahead, drawn down job by job."),
    "quote": ("quote", "Draft, send, compare, accept, cancel or postpone quotes."),
    "job": ("job", "Jobs being carried out: what is done, what is missing."),
    "day": ("day", "Shoot days as they were: call and wrap, overruns, moves, hold days."),
    "cost": ("cost", "Money spent on jobs, with receipts on file."),
    "deliverable": ("deliverable", "Promised cuts and stills: look at files, send versions, take notes, approve."),
    "handover": ("handover", "Hand files over with checksums and a delivery note; check them later."),
    "archive": ("archive", "What is kept where, and until when that was promised."),
    "schedule": ("schedule", "Plan a job backwards from the client's date; see what slips when a date moves."),
    "calendar": ("calendar", "Days and deadlines as an iCalendar file."),
    "shots": ("shots", "The shot list: dry or in the water, where, who appears, in which cuts."),
    "storage": ("storage", "Cards and drives that a job fills, with the working."),
    "charge": ("charge", "What a job costs beyond its quote: fees, overruns, costs, rounds."),
    "invoice": ("invoice", "Issue the stage that is due, record payments."),
    "payment": ("payment", "Money that came in for one invoice or several, or went back."),
    "bank": ("bank", "Read bank statements; book what they pay, only when you say so."),
    "late": ("late", "Invoices past their due date: what it costs, reminders."),
    "statement": ("statement", "Write a client's statement of account."),
    "overhead": ("overhead", "Costs of the business that belong to no job, paid or expected."),
    "mileage": ("mileage", "The log of journeys by own vehicle."),
    "report": ("report", "The business in figures: table, JSON, CSV or a page with a chart."),
    "evidence": ("evidence", "What shows that a client abroad is a business, for its tax."),
    "send": ("send", "Write the mail that carries a paper."),
    "release": ("release", "Releases signed by the people in the work."),
    "permission": ("permission", "Permissions for the places where the work was shot."),
    "holding": ("holding", "Every paper on file: releases, places, music, crew, permits, insurance."),
    "rights": ("rights", "What may be sold, what is sold, and whether one lies inside the other."),
    "person": ("person", "Whose personal data is kept, on what basis, for what, until when."),
    "status": ("status", "One screen: owed to me, due from me, papers missing, papers ending."),
    "verify": ("verify", "Check every issued document and every filed paper against the book."),
    "papers": ("papers", "Papers to be signed or carried on the shoot; issued PDFs made again."),
    "demo": ("demo", "Play an invented job from brief to paid invoice and leave the folder to look at."),
}


class OnDemand(TyperGroup):
    """A group whose commands are imported when called; listing them imports nothing."""

    _listing = False

    def list_commands(self, ctx: Any) -> list[str]:
        """Command names in the order of a job."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command itself, or while help is drawn a bare stand-in with its one line."""
        if cmd_name not in COMMANDS:
            return None
        module, does = COMMANDS[cmd_name]
        if self._listing:
            return TyperCommand(cmd_name, help=does, short_help=does)
        app = importlib.import_module(f"bizkit.cli.{module}").app
        command = typer.main.get_command(app)
        command.name = cmd_name
        return command

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Draw the help without importing the commands."""
        self._listing = True
        try:
            super().format_help(ctx, formatter)
        finally:
            self._listing = False


app = typer.Typer(
    cls=OnDemand,
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"bizkit {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Say the version."),
) -> None:
    """The business side of film and photo work: price it, track it, invoice it, prove the rights."""


def run() -> None:
    """The entry point. One clear line for a wrong input (exit code 2) or a broken rule (exit code 1)."""
    try:
        app(prog_name="bizkit")
    except BizkitError as error:
        print(f"bizkit: {error}", file=sys.stderr)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(141)
