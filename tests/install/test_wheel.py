"""The wheel alone, installed into a bare environment, makes a studio and draws a quote from another folder."""

import json
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest

CHECKOUT = Path(__file__).resolve().parents[2]

# Built and installed once: both cores must not do it at the same time.
pytestmark = pytest.mark.xdist_group("wheel")


def run(*command: str | Path, folder: Path) -> str:
    """What `command` prints, run in `folder` with nothing of this test run's own Python about it."""
    surroundings = {
        key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "BIZKIT", "VIRTUAL_ENV"))
    }
    done = subprocess.run(
        [str(part) for part in command], cwd=folder, env=surroundings, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """A wheel of the checkout as it stands."""
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "build", "--wheel", "--outdir", folder, CHECKOUT, folder=folder)
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory) -> Path:
    """The `bizkit` program of a fresh environment that holds the wheel and what it requires, nothing more."""
    folder = tmp_path_factory.mktemp("bare")
    venv.create(folder, with_pip=True)
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    pip = [shutil.which("python", path=programs), "-m", "pip", "--disable-pip-version-check"]
    run(*pip, "install", "--quiet", "--root-user-action=ignore", wheel, folder=folder)
    run(*pip, "check", folder=folder)
    return Path(shutil.which("bizkit", path=programs) or "no bizkit program")


def test_the_wheel_holds_package_and_templates_and_nothing_else(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    assert "bizkit/cli/main.py" in names
    shipped = {
        f"bizkit/{path.relative_to(CHECKOUT).as_posix()}"
        for path in (CHECKOUT / "templates").rglob("*")
        if path.is_file()
    }
    assert shipped
    assert shipped <= set(names)
    tops = {name.split("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"bizkit"}
    assert not [name for name in names if "__pycache__" in name or "/tests/" in name]


def test_the_installed_wheel_draws_a_quote_from_another_folder(installed, tmp_path):
    studio = tmp_path / "my-studio"
    made = json.loads(run(installed, "init", "my-studio", "--json", folder=tmp_path))
    inside = tmp_path / "my-studio" / "briefs"
    priced = json.loads(run(installed, "price", made["brief"], "--json", folder=studio))
    draft = json.loads(run(installed, "quote", "draft", made["brief"], "--json", folder=studio))
    sent = json.loads(run(installed, "quote", "send", draft["key"], "--json", folder=inside))
    (paper,) = studio.rglob("*.pdf")
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(paper).pages).split())
    assert sent["number"] in text
    assert sent["gross"] == priced["gross"]
    assert sent["gross"] in text.replace(",", "")
    assert sum(Decimal(line["amount"]) for line in priced["lines"]) == Decimal(priced["net"])
