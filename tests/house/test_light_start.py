"""Starting the command line loads none of the slow libraries where they are not used."""

import json
import os
import subprocess
import sys
from pathlib import Path

HEAVY = {"sqlalchemy", "alembic", "reportlab", "babel", "av", "holidays", "jinja2", "lxml", "PIL", "numpy", "psycopg"}


def loaded_by(code: str, *arguments: str, folder: Path) -> set[str]:
    """Top-level names of all modules that a fresh Python has loaded once `code` has run."""
    program = f"""
import sys
try:
    {code}
finally:
    import json
    names = sorted({{name.partition(".")[0] for name in sys.modules}})
    open("loaded.json", "w").write(json.dumps(names))
"""
    surroundings = {key: value for key, value in os.environ.items() if key != "BIZKIT_STUDIO"}
    done = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        cwd=folder, env=surroundings, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return set(json.loads((folder / "loaded.json").read_text()))


def test_a_heavy_library_is_seen(tmp_path):
    assert "sqlalchemy" in loaded_by("import sqlalchemy", folder=tmp_path)


def test_importing_the_command_line_is_light(tmp_path):
    loaded = loaded_by("import bizkit.cli.main", folder=tmp_path)
    assert "typer" in loaded
    assert loaded & HEAVY == set()


def test_help_is_light(tmp_path):
    assert loaded_by("from bizkit.cli.main import run; run()", "--help", folder=tmp_path) & HEAVY == set()


def test_pricing_a_brief_is_light(tmp_path):
    run = "from bizkit.cli.main import run; run()"
    assert "sqlalchemy" in loaded_by(run, "init", "my-studio", folder=tmp_path)
    studio = tmp_path / "my-studio"
    briefs = sorted(studio.glob("briefs/*.toml"))
    assert briefs
    for brief in briefs:
        loaded = loaded_by(run, "price", str(brief), folder=studio)
        assert "bizkit" in loaded
        assert loaded & HEAVY <= {"holidays"}  # due dates are counted in working days
