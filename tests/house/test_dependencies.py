"""What the code imports is what pyproject.toml declares: nothing is there by another package's grace."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions

import pytest

OWN = {"bizkit", "environment"}


def third_party(source: str) -> set[str]:
    """Top-level names of other people's packages that a module imports anywhere in it."""
    names = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
    return names - set(sys.stdlib_module_names) - OWN


def plain_name(requirement: str) -> str:
    """`psycopg[binary]>=3.2` -> `psycopg`, by the packaging specification's rule for names."""
    return re.sub(r"[-_.]+", "-", re.split(r"[\s\[<>=!~;@]", requirement, maxsplit=1)[0]).lower()


def undeclared(sources: dict[str, str], requirements: list[str]) -> list[str]:
    """Imports whose package is none of `requirements`."""
    declared = {plain_name(requirement) for requirement in requirements}
    packages = packages_distributions()
    return [
        f"{path} imports {name}"
        for path, source in sources.items()
        for name in sorted(third_party(source))
        if not {plain_name(package) for package in packages.get(name, [name])} & declared
    ]


@pytest.fixture(scope="module")
def project(checkout):
    return tomllib.loads((checkout / "pyproject.toml").read_text())["project"]


def test_the_package_imports_only_what_it_declares(modules, project):
    extras = [line for extra, lines in project["optional-dependencies"].items() if extra != "test" for line in lines]
    missing = undeclared(modules, project["dependencies"] + extras)
    assert not missing, "\n".join(missing)


def test_the_tests_import_only_what_is_declared(checkout, project):
    sources = {
        path.relative_to(checkout).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted((checkout / "tests").rglob("*.py"))
    }
    extras = [line for lines in project["optional-dependencies"].values() for line in lines]
    missing = undeclared(sources, project["dependencies"] + extras)
    assert not missing, "\n".join(missing)


def test_an_undeclared_import_is_seen():
    sources = {"a.py": "import json\ndef f():\n    from PIL import Image\n    import yaml.nodes\nfrom . import b"}
    assert undeclared(sources, ["reportlab>=4"]) == ["a.py imports PIL", "a.py imports yaml"]
    assert undeclared(sources, ["Pillow>=10", "PyYAML", "yaml"]) == []
