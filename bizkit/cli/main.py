"""`bizkit`: the root of the command line. Each command's module is imported only when it is called."""

from __future__ import annotations

import importlib
import os
import sys
import traceback
from contextlib import suppress
from types import FrameType, ModuleType
from typing import Any, NoReturn

import typer
from typer.core import TyperCommand, TyperGroup

from bizkit import __version__
from bizkit.cli.typed_text import check_typed
from bizkit.domain.errors import BizkitError, suggest

#: What the commands are about -> command -> what it does. Each is the module of its name in this folder.
COMMANDS: dict[str, dict[str, str]] = {
    "Price": {
        "rates": "Look at the rate card and check it.",
        "floor": "The day rate below which the studio loses money.",
        "brief": "Briefs: copy one for the next job.",
        "price": "Price a brief without storing anything; every line says why.",
        "weather": "Chances of a workable day from past days; the weather plan of a brief.",
        "kit": "Who and what is booked, where jobs clash, kit due for service, kit paid back.",
        "deal": "Days bought ahead, drawn down job by job.",
        "quote": "Draft, send, compare, accept, cancel or postpone quotes.",
    },
    "Work": {
        "job": "Jobs being carried out: what is done, what is missing.",
        "day": "Shoot days as they were: call and wrap, overruns, moves, hold days.",
        "cost": "Money spent on jobs, with receipts on file.",
        "charge": "What a job costs beyond its quote: fees, overruns, costs, rounds.",
        "deliverable": "Promised cuts and stills: look at files, send versions, take notes, approve.",
        "handover": "Hand files over with checksums and a delivery note; check them later.",
        "archive": "What is kept where, and until when that was promised.",
        "schedule": "Plan a job backwards from the client's date; see what slips when a date moves.",
        "calendar": "Days and deadlines as an iCalendar file.",
        "shots": "The shot list: dry or in the water, where, who appears, in which cuts.",
        "storage": "Cards and drives that a job fills, with the working.",
    },
    "Money": {
        "invoice": "Issue the stage that is due, record payments.",
        "payment": "Money that came in for one invoice or several, or went back.",
        "bank": "Read bank statements; book what they pay, only when you say so.",
        "late": "Invoices past their due date: what it costs, reminders.",
        "statement": "Write a client's statement of account.",
        "overhead": "Costs of the business that belong to no job, paid or expected.",
        "mileage": "The log of journeys by own vehicle.",
        "report": "The business in figures: table, JSON, CSV or a page with a chart.",
        "evidence": "What shows that a client abroad is a business, for its tax.",
        "send": "Write the mail that carries a paper.",
    },
    "Rights": {
        "rights": "What may be sold, what is sold, and whether one lies inside the other.",
        "release": "Releases signed by the people in the work.",
        "permission": "Permissions for the places where the work was shot.",
        "holding": "Every paper on file: releases, places, music, crew, permits, insurance.",
        "person": "Whose personal data is kept, on what basis, for what, until when.",
        "papers": "Papers to be signed or carried on the shoot; issued PDFs made again.",
    },
    "Studio": {
        "init": "Make a studio folder with a starter rate card, a sample brief and an empty book.",
        "guide": "How a task is done, command by command.",
        "keys": "What a settings file may say, key by key.",
        "status": "One screen: owed to me, due from me, papers missing, papers ending.",
        "verify": "Check every issued document and every filed paper against the book.",
        "here": "Where the book is worked in; that it was moved here and goes on here.",
        "demo": "Play an invented job from brief to paid invoice and leave the folder to look at.",
    },
}


def whole_help(command: Any) -> None:
    """Let help show brackets: they would be taken for marks of style and left out ("[statement.NAME]")."""
    for one in (command, *getattr(command, "params", ())):
        for name in ("help", "short_help"):
            text = getattr(one, name, None)
            if text and "[" in text and "\\[" not in text:
                setattr(one, name, text.replace("[", "\\["))
    for inner in getattr(command, "commands", {}).values():
        whole_help(inner)


class OnDemand(TyperGroup):
    """A group whose commands are imported when called; listing them imports nothing."""

    _listing = False

    def list_commands(self, ctx: Any) -> list[str]:
        """Command names, those of one ledger together."""
        return [name for commands in COMMANDS.values() for name in commands]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command itself, or while help is drawn a bare stand-in with its one line."""
        about = next((about for about, commands in COMMANDS.items() if cmd_name in commands), None)
        if about is None:
            return None
        if self._listing:
            does = COMMANDS[about][cmd_name]
            return TyperCommand(cmd_name, help=does, short_help=does, rich_help_panel=about)
        command = typer.main.get_command(importlib.import_module(f"bizkit.cli.{cmd_name}").app)
        command.name = cmd_name
        check_typed(command)
        whole_help(command)
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
    """The business side of film and photo work: price it, track it, invoice it, prove the rights.

    Options stand behind the command. Every one that works in a studio takes --studio FOLDER; without it BIZKIT_STUDIO
    counts, else the nearest studio here or above.
    """


def run() -> None:
    """The entry point, and the one place where every error ends: no command ends in a traceback.

    One clear line for a wrong input (exit code 2) or a broken rule (exit code 1), for a file that cannot be read or
    written, and for anything unforeseen, of which a report is written (both exit code 1).
    """
    _open_streams()
    try:
        code = app(prog_name="bizkit", standalone_mode=False)
        sys.stdout.flush()
        if code == 130:  # how typer hands on that somebody pressed Ctrl-C
            raise KeyboardInterrupt
    except BizkitError as error:
        _leave([str(one) for one in getattr(error, "problems", [error])], error.exit_code)
    except BrokenPipeError:
        _leave("", 141)
    except (KeyboardInterrupt, typer.Abort):
        _leave("stopped", 130)
    except SystemExit as leaving:  # 1 is how typer and rich go where the reader has gone away; our commands never do
        _leave("", 141 if leaving.code == 1 else leaving.code)
    except OSError as error:
        _leave(fault_report().of_output(error) if _printing(error) else fault_report().of_system(error), 1)
    except UnicodeEncodeError:
        _leave("a word of the command holds bytes that are no text in UTF-8: type it again, or rename the file", 2)
    except OverflowError as error:
        if "date value out of range" in str(error):
            _leave("a day that this leads to lies beyond the calendar (the years 1 to 9999): give another one", 2)
        _leave(fault_report().of_fault(error, sys.argv[1:]), 1)
    except MemoryError:
        _leave("there is not enough memory for that: close other programs, or give it less at a time", 1)
    except Exception as error:  # typer's own errors have no public base
        if hasattr(error, "format_message"):
            _leave(_usage(error), 2)
        _leave(fault_report().of_fault(error, sys.argv[1:]), 1)
    sys.exit(code if isinstance(code, int) else 0)


def _open_streams() -> None:
    """Give what was closed by who calls us somewhere to go, so that no file we open takes its place."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115


def fault_report() -> ModuleType:
    """The words for what went wrong, imported only then."""
    return importlib.import_module("bizkit.cli.fault_report")


def _leave(said: str | list[str], code: str | int | None) -> NoReturn:
    """Say one line, or one for each problem of a file, and go, whatever became of the output."""
    lines = [one for one in ([said] if isinstance(said, str) else said) if one]
    lines = ["".join(sign if sign.isprintable() else " " for sign in line) for line in lines]
    for stream, words in ((sys.stdout, ""), (sys.stderr, "".join(f"bizkit: {line}\n" for line in lines))):
        try:
            stream.write(words)
            stream.flush()
        except (OSError, ValueError):
            # Else the interpreter tries once more as it ends, and complains.
            with suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(code)


def _printing(error: OSError) -> bool:
    """Whether it came up as something was printed: of no file, and outside the rooms that do the work."""
    frames = traceback.walk_tb(error.__traceback__)
    rooms = {frame.f_globals.get("__name__", "").split(".")[1] for frame, _ in frames if _ours(frame)}
    return not error.filename and rooms <= {"cli"}


def _ours(frame: FrameType) -> bool:
    return str(frame.f_globals.get("__name__", "")).startswith("bizkit.")


def _usage(error: Any) -> str:
    """One line on what is wrong with the words of the command; nothing more than its help where there were none."""
    if type(error).__name__ == "NoArgsIsHelpError":
        with suppress(OSError, SystemExit):
            error.show()
        return ""
    context = getattr(error, "ctx", None)
    said = " ".join(error.format_message().split())
    if said.startswith("No such command") and "Did you mean" not in said and context is not None:
        said = f"{said} {suggest(said.split(chr(39))[1], context.command.list_commands(context))}"
    if said.startswith("No such option: -") and said.removeprefix("No such option: -")[:1].isdigit():
        said = "An amount below zero is typed after -- ; money that went back is bizkit payment refund INVOICE AMOUNT"
    path = context.command_path if context is not None else "bizkit"
    option = getattr(error, "option_name", "")
    if option in ("--studio", "--json", "--on", "--reason") and context is not None and context.parent is None:
        said = f"{said.rstrip('.')} here: options stand behind the command, as in bizkit status {option}"
    return f"{said.rstrip('.')}. See {path} --help".replace("?. See", "? See")
