"""What every module and every file of the project keeps to."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

LONGEST = 400

#: Folders at the root of some machine that a shared file has no business naming.
MACHINE_PATH = re.compile(r"(?<![\w./~-])/(?:work|root|tmp|home/\w+|Users/\w+)/")

#: What a checkout holds besides the project's own files.
NOT_OURS = {
    ".git", ".venv", "__pycache__", ".hypothesis", ".mypy_cache", ".ruff_cache", ".pytest_cache", "build", "dist",
    "studio",
}  # fmt: skip


def without_docstring(path: str, source: str) -> list[str]:
    """The module, and public classes, functions and methods in it, that do not say what they mean."""
    tree = ast.parse(source)
    missing = [] if ast.get_docstring(tree) else [path]
    return missing + [f"{path}:{node.lineno} {name}" for name, node in public(tree) if not ast.get_docstring(node)]


def public(tree: ast.Module | ast.ClassDef, within: str = "") -> Iterator[tuple[str, ast.ClassDef | ast.FunctionDef]]:
    for node in tree.body:
        if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) or node.name.startswith("_"):
            continue
        if any(ast.unparse(decorator).rpartition(".")[2] == "overload" for decorator in node.decorator_list):
            continue
        yield within + node.name, node
        if isinstance(node, ast.ClassDef):
            yield from public(node, f"{within}{node.name}.")


def own_files(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        if path.name in NOT_OURS or path.name.endswith(".egg-info"):
            continue
        if path.is_dir():
            yield from own_files(path)
        else:
            yield path


def test_everything_public_has_a_docstring(modules):
    missing = [line for path, source in modules.items() for line in without_docstring(path, source)]
    assert not missing, "\n".join(missing)


def test_no_module_is_over_400_lines(modules):
    code = {path: source for path, source in modules.items() if not path.startswith("bizkit/domain/tables/")}
    assert {path: n for path, source in code.items() if (n := len(source.splitlines())) > LONGEST} == {}


def test_no_file_names_a_path_of_somebodys_machine(checkout):
    files = list(own_files(checkout))
    assert checkout / "pyproject.toml" in files
    wrong = []
    for path in files:
        text = path.read_bytes().decode("utf-8", errors="ignore")
        if b"\0" not in path.read_bytes()[:8000] and MACHINE_PATH.search(text):
            wrong.append(f"{path.relative_to(checkout)}: {MACHINE_PATH.search(text).group()}")
    assert wrong == []


@pytest.mark.parametrize(
    ("source", "missing"),
    [
        ("x = 1", ["a.py"]),
        ('"""A."""\ndef price(): ...', ["a.py:2 price"]),
        ('"""A."""\nclass Card:\n    """C."""\n    def rate(self): ...', ["a.py:4 Card.rate"]),
        ('"""A."""\nclass Card: ...', ["a.py:2 Card"]),
        ('"""A."""\nasync def price(): ...', ["a.py:2 price"]),
        ('"""A."""\ndef _price(): ...\nclass _Card:\n    def rate(self): ...', []),
        ('"""A."""\nclass Card:\n    """C."""\n    def __add__(self, other): ...', []),
        ('"""A."""\n@typing.overload\ndef day(): ...', []),
    ],
)
def test_a_missing_docstring_is_seen(source, missing):
    assert without_docstring("a.py", source) == missing


@pytest.mark.parametrize("folder", ["work", "root", "tmp", "home/ann", "Users/ann"])
def test_a_path_of_a_machine_is_seen(folder):
    assert MACHINE_PATH.search(f'book = "/{folder}/studio"')


@pytest.mark.parametrize("text", ["https://example.com/work/kelp", "papers/tmp/x", "~/work/x", "/usr/bin/env"])
def test_a_path_inside_an_address_or_folder_passes(text):
    assert not MACHINE_PATH.search(text)
