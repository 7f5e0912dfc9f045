"""The checkout's own virtual environment: made once, brought up to date when pyproject.toml changes, else left alone.

Standard library only. `demo/run` and `tests/run` share one environment, `.venv` beside pyproject.toml; a stamp in
it says what was installed from which pyproject.toml, so that a second run starts at once.
"""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent
FOLDER = CHECKOUT / ".venv"
STAMP = FOLDER / "bizkit-stamp.json"
PROGRAMS = FOLDER / ("Scripts" if os.name == "nt" else "bin")
PYTHON = PROGRAMS / ("python.exe" if os.name == "nt" else "python")
PIP = [str(PYTHON), "-m", "pip", "--disable-pip-version-check", "--no-input"]


class Failed(Exception):
    """The run cannot go on; the message is one line that says what to do."""


def say(line: str) -> None:
    """One line for the person watching, written at once so that it stays in order with what programs print."""
    print(line, flush=True)


def prepare(*extras: str) -> None:
    """See to it that `PYTHON` has bizkit (editable) and its `extras`. Raises Failed when that cannot be done."""
    place = {"checkout": str(CHECKOUT), "python": sys.version.split()[0]}
    pyproject = hashlib.sha256((CHECKOUT / "pyproject.toml").read_bytes()).hexdigest()
    stamp = _stamp()
    if stamp.get("place") != place or not _starts("-m", "pip", "--version"):
        stamp = {}
        _make()
    installed = set(stamp.get("extras", []))
    if stamp.get("pyproject") == pyproject and installed.issuperset(extras):
        return
    chosen = sorted(installed.union(extras))
    say(f"Installing bizkit{' with extras ' + ', '.join(chosen) if chosen else ''}: a minute or so, this once")
    STAMP.unlink(missing_ok=True)
    requirement = str(CHECKOUT) + (f"[{','.join(chosen)}]" if chosen else "")
    if subprocess.run([*PIP, "install", "--quiet", "--editable", requirement], env=_quiet(), check=False).returncode:
        raise Failed("pip could not install bizkit: see its lines above, then run this again")
    STAMP.write_text(json.dumps({"place": place, "pyproject": pyproject, "extras": chosen}), encoding="utf-8")


def program(name: str) -> str:
    """Path of a program that a package brought into the environment. Raises Failed when it is not there."""
    path = shutil.which(name, path=str(PROGRAMS))
    if path is None:
        raise Failed(f"{name} is not in .venv: remove that folder and run this again")
    return path


def _stamp() -> dict:
    try:
        return dict(json.loads(STAMP.read_text(encoding="utf-8")))
    except (OSError, ValueError):
        return {}


def _starts(*arguments: str) -> bool:
    """False where the environment is missing, half made, or the Python it was made from is gone."""
    try:
        return subprocess.run([str(PYTHON), *arguments], capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def _quiet() -> dict[str, str]:
    return {**os.environ, "PIP_ROOT_USER_ACTION": "ignore"}


def _make() -> None:
    say("Making a virtual environment in .venv")
    shutil.rmtree(FOLDER, ignore_errors=True)
    try:
        venv.create(FOLDER, with_pip=True)
    except (subprocess.CalledProcessError, ImportError, OSError) as error:
        shutil.rmtree(FOLDER, ignore_errors=True)
        raise Failed(
            f"Python could not make a virtual environment ({type(error).__name__}): a Python from the system's "
            "packages may need one more of them, such as python3-venv on Debian and Ubuntu"
        ) from None
