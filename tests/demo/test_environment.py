"""The checkout's own environment is made once and then left alone; the demo removes nothing but its own studio."""

import ast
import importlib.util
import runpy
import shutil
import sys
from importlib.machinery import SourceFileLoader
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "demo"


def load(path: Path, name: str):
    """A script as a module, whatever its name ends in."""
    spec = importlib.util.spec_from_loader(name, SourceFileLoader(name, str(path)))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PYPROJECT = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]
[project]
name = "shell"
version = "1"
"""

#: The least that pip takes for a build backend (PEP 517 and 660), so that nothing has to be fetched.
BACKEND = """
import zipfile

def build_editable(folder, config_settings=None, metadata_directory=None):
    with zipfile.ZipFile(f"{folder}/shell-1-py3-none-any.whl", "w") as wheel:
        about = "Metadata-Version: 2.1\\nName: shell\\nVersion: 1\\nProvides-Extra: more\\n"
        wheel.writestr("shell-1.dist-info/METADATA", about)
        wheel.writestr("shell-1.dist-info/WHEEL", "Wheel-Version: 1.0\\nRoot-Is-Purelib: true\\nTag: py3-none-any\\n")
        wheel.writestr("shell-1.dist-info/RECORD", "")
    return "shell-1-py3-none-any.whl"
"""


def test_the_environment_is_made_once_and_filled_again_only_for_more(tmp_path, capfd):
    (tmp_path / "demo").mkdir()
    (tmp_path / "pyproject.toml").write_text(PYPROJECT)
    (tmp_path / "backend.py").write_text(BACKEND)
    shutil.copy(DEMO / "environment.py", tmp_path / "demo")
    environment = load(tmp_path / "demo" / "environment.py", "environment_of_shell")

    def said() -> list[str]:
        return [line.split()[0] for line in capfd.readouterr().out.splitlines()]

    environment.prepare()
    assert said() == ["Making", "Installing"]
    assert environment.PYTHON.exists()
    environment.prepare()
    assert said() == []
    environment.prepare("more")
    assert said() == ["Installing"]
    environment.prepare()  # what was added stays
    assert said() == []
    (tmp_path / "pyproject.toml").write_text("this is no TOML")
    with pytest.raises(environment.Failed, match="pip could not install"):
        environment.prepare()
    assert not environment.STAMP.exists()
    with pytest.raises(environment.Failed, match=r"no-such-program is not in \.venv"):
        environment.program("no-such-program")


@pytest.fixture
def demo(monkeypatch):
    """demo/run as a module, not run."""
    monkeypatch.setattr(sys, "path", list(sys.path))
    return load(DEMO / "run", "demo_run")


def test_the_demo_replaces_a_studio_that_a_demo_made(demo, tmp_path):
    studio = tmp_path / "studio"
    (studio / "papers").mkdir(parents=True)
    (studio / demo.MARK).write_text("")
    demo.clear(studio)
    assert not studio.exists()


def test_the_demo_starts_in_a_folder_that_is_new_or_empty(demo, tmp_path):
    demo.clear(tmp_path / "new")
    demo.clear(tmp_path)
    assert tmp_path.exists()


@pytest.mark.parametrize("name", ["studio.toml", "holiday.jpg"])
def test_the_demo_never_removes_what_it_did_not_make(demo, tmp_path, name):
    (tmp_path / name).write_text("mine")
    with pytest.raises(demo.environment.Failed, match="no demo made it"):
        demo.clear(tmp_path)
    assert (tmp_path / name).read_text() == "mine"


def test_the_demo_never_writes_over_a_file(demo, tmp_path):
    (tmp_path / "studio").write_text("mine")
    with pytest.raises(demo.environment.Failed, match="no demo made it"):
        demo.clear(tmp_path / "studio")


@pytest.mark.parametrize("script", ["demo/run", "tests/run"])
def test_an_older_python_is_told_so_in_one_line(script, monkeypatch):
    path = DEMO.parent / script
    ast.parse(path.read_text(encoding="utf-8"), feature_version=(3, 7))
    monkeypatch.setattr(sys, "version_info", (3, 10, 4, "final", 0))
    with pytest.raises(SystemExit) as stopped:
        runpy.run_path(str(path), run_name="__main__")
    assert stopped.value.code == "bizkit needs Python 3.11 or newer; this is Python 3.10"
