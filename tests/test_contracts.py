"""The floors of the house hold: no room imports from a floor above it."""

from importlinter.cli import lint_imports


def test_import_contracts_hold() -> None:
    assert lint_imports(no_cache=True) == 0
