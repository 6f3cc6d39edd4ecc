"""DEVELOPERS.md is true: its folder map equals the modules' own first lines."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGES = ("stockroom", "tui", "seeds_demo")


def modules() -> dict[str, str]:
    """Each module of the product with the first line of its docstring."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "versions" in path.parts and path.name != "__init__.py":
                continue
            docstring = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
            found[str(path.relative_to(ROOT))] = docstring.split("\n")[0]
    return found


def test_every_module_says_what_it_is_for() -> None:
    assert [name for name, line in modules().items() if not line.endswith((".", ":", "?"))] == []


def test_the_folder_map_is_the_code() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `([\w/]+\.py)` \| (.+?) \|$", text, re.MULTILINE))
    assert rows == modules()


def test_nothing_else_stands_at_the_top() -> None:
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\n")
    tops = {name.split("/")[0] for name in listed if name and not name.startswith(".")}
    assert tops <= {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "stockroom", "tui", "tests", "seeds_demo",
    }  # fmt: skip
