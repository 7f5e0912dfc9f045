"""The one direction of imports, and the purity of the domain (DEVELOPERS.md)."""

import ast
from collections.abc import Iterator

import pytest

#: room -> rooms of bizkit it may import, itself included
MAY_IMPORT = {
    "domain": {"domain"},
    "store": {"store", "domain", "resources"},
    "papers": {"papers", "domain", "resources"},
    "exchange": {"exchange", "domain", "resources"},
    "masters": {"masters", "domain", "resources"},
    "services": {"services", "store", "papers", "exchange", "masters", "domain", "resources"},
    "desk": {"desk", "services", "papers", "exchange", "masters", "domain", "resources"},
    "cli": {"cli", "services", "papers", "exchange", "masters", "domain", "resources"},
    "resources": {"resources"},
}

#: What the domain may use of the standard library: nothing that reads files, the clock, the locale or chance.
PURE = {
    "__future__", "abc", "bisect", "calendar", "collections", "copy", "dataclasses", "datetime", "decimal", "difflib",
    "enum", "fractions", "functools", "hashlib", "heapq", "itertools", "json", "math", "operator", "re",
    "statistics", "string", "textwrap", "types", "typing", "unicodedata",
}  # fmt: skip

NEVER_CALLED = {"open", "input", "print", "eval", "exec", "__import__"}
CLOCK = {"today", "now", "utcnow", "fromtimestamp"}
#: Names of months and days in the language of whoever runs it.
LOCAL_NAMES = {"strftime", "month_name", "month_abbr", "day_name", "day_abbr"}
#: strftime codes whose outcome depends on the locale
LOCAL_CODES = ("%a", "%A", "%b", "%B", "%c", "%x", "%X", "%p")


def imported(path: str, source: str) -> Iterator[str]:
    """Dotted names that a module imports anywhere in it, in functions and for types too.

    `from a import b` gives `a.b`, since b may be a module; relative imports are made absolute; so does
    `import_module("a.b")`.
    """
    folder = path.split("/")[:-1]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = folder[: len(folder) - node.level + 1] if node.level else []
            origin = ".".join([*base, *([node.module] if node.module else [])])
            yield from (f"{origin}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Call) and ast.unparse(node.func).rpartition(".")[2] == "import_module":
            yield from (str(argument.value) for argument in node.args[:1] if isinstance(argument, ast.Constant))


def room(name: str) -> str:
    """The room of bizkit that a dotted name or a path belongs to; empty for the package itself."""
    parts = name.removesuffix(".py").replace("/", ".").split(".")
    return parts[1] if parts[0] == "bizkit" and len(parts) > 1 and parts[1] in MAY_IMPORT else ""


def against_the_direction(path: str, source: str) -> list[str]:
    """Imports of `path` that go up or sideways."""
    here = room(path)
    if not here:
        return []
    targets = {name for name in imported(path, source) if room(name)}
    return [f"{path} imports {name}" for name in sorted(targets) if room(name) not in MAY_IMPORT[here]]


def impure(path: str, source: str) -> list[str]:
    """What a domain module does that a pure one must not."""
    wrong = [
        f"{path} imports {name}"
        for name in imported(path, source)
        if name.split(".")[0] not in PURE | {"bizkit", "dateutil"} or name.split(".")[-1] in LOCAL_NAMES
    ]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in NEVER_CALLED:
            wrong.append(f"{path}:{node.lineno} calls {node.func.id}")
        elif isinstance(node, ast.Attribute) and (
            node.attr in LOCAL_NAMES
            or (node.attr in CLOCK and ast.unparse(node.value).rpartition(".")[2] in {"date", "datetime"})
        ):
            wrong.append(f"{path}:{node.lineno} uses {ast.unparse(node)}")
        elif isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            spec = ast.unparse(node.format_spec)
            if any(code in spec for code in LOCAL_CODES):
                wrong.append(f"{path}:{node.lineno} formats by the locale")
    return wrong


def test_every_module_imports_downwards_only(modules):
    assert [line for path, source in modules.items() for line in against_the_direction(path, source)] == []


def test_the_domain_touches_no_file_no_clock_no_locale_and_no_library(modules):
    domain = {path: source for path, source in modules.items() if room(path) == "domain"}
    assert "bizkit/domain/money.py" in domain
    assert [line for path, source in domain.items() for line in impure(path, source)] == []


def test_every_room_has_a_rule(checkout):
    rooms = {path.parent.name for path in (checkout / "bizkit").glob("*/__init__.py")}
    assert {"domain", "store", "papers", "services", "cli"} <= rooms
    assert rooms <= set(MAY_IMPORT)


@pytest.mark.parametrize(
    ("path", "source", "target"),
    [
        ("bizkit/domain/money.py", "from bizkit.store import book", "bizkit.store.book"),
        ("bizkit/domain/money.py", "from bizkit import resources", "bizkit.resources"),
        ("bizkit/domain/money.py", "from ..services.filing import file", "bizkit.services.filing.file"),
        ("bizkit/domain/pricing/line.py", "from ... import store", "bizkit.store"),
        ("bizkit/domain/pricing/__init__.py", "from ...papers import quote", "bizkit.papers.quote"),
        ("bizkit/papers/quote.py", "def f():\n    import bizkit.exchange.xmp", "bizkit.exchange.xmp"),
        ("bizkit/store/book.py", "import importlib\nimportlib.import_module('bizkit.papers')", "bizkit.papers"),
        ("bizkit/services/price.py", "if TYPE_CHECKING:\n    from bizkit.cli.main import run", "bizkit.cli.main.run"),
        ("bizkit/cli/main.py", "from bizkit.store.book import Book", "bizkit.store.book.Book"),
        ("bizkit/desk/page.py", "import bizkit.store", "bizkit.store"),
        ("bizkit/desk/page.py", "import bizkit.cli.main", "bizkit.cli.main"),
    ],
)
def test_an_import_upwards_or_sideways_is_seen(path, source, target):
    assert against_the_direction(path, source) == [f"{path} imports {target}"]


def test_an_import_downwards_passes():
    source = "from bizkit.store.book import Book\nfrom bizkit import resources\nfrom ..domain import money\nimport os"
    assert against_the_direction("bizkit/services/price.py", source) == []


@pytest.mark.parametrize(
    "source",
    [
        "import os",
        "from pathlib import Path",
        "import time",
        "import sqlite3",
        "def f():\n    import locale",
        "from random import random",
        "import babel.numbers",
        "open('card.toml')",
        "print('priced')",
        "from datetime import date\ndate.today()",
        "import datetime\nclock = datetime.datetime.now",
        "day.strftime('%d')",
        "import calendar\ncalendar.month_name[5]",
        "from calendar import day_abbr",
        "f'{day:%d %B %Y}'",
    ],
)
def test_an_impure_domain_is_seen(source):
    assert len(impure("bizkit/domain/money.py", source)) == 1


def test_a_pure_domain_passes():
    source = "from datetime import date\nfrom dateutil.relativedelta import relativedelta\ndef f(now: date): now.year"
    assert impure("bizkit/domain/dates.py", source) == []
