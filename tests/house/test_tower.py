"""The services are a tower: each room imports those below it, and no file imports itself by way of others.

Every import counts, the ones inside functions too: what is put off until it is needed is still an arrow. They stand
in functions to keep commands quick (DEVELOPERS.md), never to untie a knot.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

#: From the ground up: what each room may import is itself and what stands before it.
TOWER = (
    "studio", "job", "billing", "rights", "quoting", "delivery", "shooting", "overview", "reports", "demo",
)  # fmt: skip


def is_typing(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"


def imported(source: str, *, for_types: bool) -> Iterator[tuple[str, str]]:
    """(module, name) of every import, anywhere in a module; for_types: those for the type checker alone as well."""
    waiting: list[ast.AST] = [ast.parse(source)]
    while waiting:
        node = waiting.pop()
        if is_typing(node) and not for_types:
            continue
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield from ((node.module, alias.name) for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        waiting += ast.iter_child_nodes(node)


def name_of(path: str) -> str:
    """`bizkit.services.job.jobs` of a path; of a package's own file the package."""
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def arrows(modules: dict[str, str], *, for_types: bool) -> dict[str, set[str]]:
    """Module -> the modules of bizkit that it imports."""
    known = {name_of(path) for path in modules}
    found: dict[str, set[str]] = {}
    for path, source in modules.items():
        mine = found.setdefault(name_of(path), set())
        for module, name in imported(source, for_types=for_types):
            target = f"{module}.{name}" if f"{module}.{name}" in known else module
            if target in known and target != name_of(path):
                mine.add(target)
    return found


def upward(found: dict[str, set[str]]) -> list[str]:
    """Arrows from a room of services to one above it."""

    def floor(module: str) -> int:
        parts = module.split(".")
        return TOWER.index(parts[2]) if module.startswith("bizkit.services.") else -1

    return [
        f"{module} imports {target}"
        for module, targets in sorted(found.items())
        for target in sorted(targets)
        if floor(module) >= 0 and floor(target) > floor(module)
    ]


def circles(found: dict[str, set[str]]) -> list[str]:
    """Modules that import themselves by way of others, each with the way round."""
    state: dict[str, int] = {}
    wrong: list[str] = []

    def visit(module: str, way: list[str]) -> None:
        state[module] = 1
        for target in sorted(found.get(module, ())):
            if state.get(target) == 1:
                wrong.append(" -> ".join([*way[way.index(target) :], target]))
            elif target not in state:
                visit(target, [*way, target])
        state[module] = 2

    for module in sorted(found):
        if module not in state:
            visit(module, [module])
    return wrong


def test_every_room_of_services_stands_in_the_tower(checkout):
    rooms = {path.name for path in (checkout / "bizkit" / "services").iterdir() if path.is_dir()} - {"__pycache__"}
    assert rooms == set(TOWER)


def test_no_arrow_runs_up(modules):
    assert upward(arrows(modules, for_types=True)) == []


def test_no_file_imports_itself_by_way_of_others(modules):
    assert circles(arrows(modules, for_types=False)) == []


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("bizkit/services/studio/numbers.py", "    from bizkit.services.billing.invoices import stage_rows\n"),
        ("bizkit/services/rights/works.py", "    from bizkit.services.quoting import pricing\n"),
    ],
)
def test_an_arrow_that_is_planted_is_found(modules, path, line):
    planted = {**modules, path: modules[path] + f"\n\ndef planted() -> None:\n{line}"}
    assert len(upward(arrows(planted, for_types=True))) == 1


def test_a_circle_that_is_planted_is_found(modules):
    path = "bizkit/services/studio/studio_folder.py"
    line = "    from bizkit.services.studio.filing import file_paper\n"
    planted = {**modules, path: modules[path] + f"\n\ndef planted() -> None:\n{line}"}
    assert circles(arrows(planted, for_types=False))
