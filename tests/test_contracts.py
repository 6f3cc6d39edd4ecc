"""The floors of the house hold, and no modules lean on each other."""

import ast
from collections.abc import Iterator
from graphlib import TopologicalSorter

from importlinter.cli import lint_imports
from support.mutate import ROOT


def test_import_contracts_hold() -> None:
    assert lint_imports(no_cache=True) == 0


def imported(node: ast.AST) -> Iterator[str]:
    """What a module imports anywhere in it, but for what only its types need."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
            continue
        if isinstance(child, ast.ImportFrom) and child.module:
            yield child.module
            yield from (f"{child.module}.{name.name}" for name in child.names)
        elif isinstance(child, ast.Import):
            yield from (name.name for name in child.names)
        yield from imported(child)


def test_no_modules_lean_on_each_other() -> None:
    """Whichever module one begins to read with, no path of imports leads back to it."""
    names = {}
    for package in ("stockroom", "tui", "seeds_demo"):
        for path in (ROOT / package).rglob("*.py"):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            names[name.removesuffix(".__init__")] = path
    graph = {
        name: {other for other in imported(ast.parse(path.read_text())) if other in names} - {name}
        for name, path in names.items()
    }
    assert len(list(TopologicalSorter(graph).static_order())) == len(names)
