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


def without_docstring(modules: dict[str, str]) -> list[str]:
    """Modules, and public classes, functions and methods in them, that do not say what they mean.

    A method that takes the place of a documented one of a class of ours means what that one says.
    """
    trees = {path: ast.parse(source) for path, source in modules.items()}
    classes = {
        node.name: node for tree in trees.values() for node in ast.walk(tree) if isinstance(node, ast.ClassDef)
    }

    def inherited(owner: ast.ClassDef, method: str) -> bool:
        bases = [classes[name] for base in owner.bases if (name := ast.unparse(base).rpartition(".")[2]) in classes]
        said = (node for base in bases for node in base.body if getattr(node, "name", "") == method)
        return any(map(ast.get_docstring, said)) or any(inherited(base, method) for base in bases if base != owner)

    def inside(node: ast.Module | ast.ClassDef, name: str) -> Iterator[str]:
        for child in node.body:
            if not isinstance(child, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) or child.name[0] == "_":
                continue
            if any(ast.unparse(decorator).rpartition(".")[2] == "overload" for decorator in child.decorator_list):
                continue
            if not ast.get_docstring(child) and not (isinstance(node, ast.ClassDef) and inherited(node, child.name)):
                yield f"{child.lineno} {name}{child.name}"
            if isinstance(child, ast.ClassDef):
                yield from inside(child, f"{name}{child.name}.")

    missing = [path for path, tree in trees.items() if not ast.get_docstring(tree)]
    return missing + [f"{path}:{line}" for path, tree in trees.items() for line in inside(tree, "")]


def own_files(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        if path.name in NOT_OURS or path.name.endswith(".egg-info"):
            continue
        if path.is_dir():
            yield from own_files(path)
        else:
            yield path


def test_everything_public_has_a_docstring(modules):
    missing = without_docstring(modules)
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


BLOCK = '"""A."""\nclass Block:\n    "B."\n    def draw(self): "Draw."\n'


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
        (BLOCK + 'class Rule(Block):\n    "R."\n    def draw(self): ...', []),
        (BLOCK + 'class Rule(a.Block):\n    "R."\nclass Thin(Rule):\n    "T."\n    def draw(self): ...', []),
        (BLOCK + 'class Rule(Block):\n    "R."\n    def fill(self): ...', ["a.py:7 Rule.fill"]),
        (BLOCK + 'class Rule:\n    "R."\n    def draw(self): ...', ["a.py:7 Rule.draw"]),
    ],
)
def test_a_missing_docstring_is_seen(source, missing):
    assert without_docstring({"a.py": source}) == missing


@pytest.mark.parametrize("folder", ["work", "root", "tmp", "home/ann", "Users/ann"])
def test_a_path_of_a_machine_is_seen(folder):
    assert MACHINE_PATH.search(f'book = "/{folder}/studio"')


@pytest.mark.parametrize(
    "text", ["https://example.com/{work}/kelp", "papers/{tmp}/x", "~/{work}/x", "/{usr}/bin/env"]
)
def test_a_path_inside_an_address_or_folder_passes(text):
    assert not MACHINE_PATH.search(text.format(work="work", tmp="tmp", usr="usr"))
