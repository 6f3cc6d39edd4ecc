"""The invented studio, told once and copied for each test."""

import shutil
from pathlib import Path

import pytest

from seeds_demo.studio import open_demo


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The studio's store, built once; never opened by a test."""
    path = tmp_path_factory.mktemp("demo") / "demo.stockroom"
    open_demo(path).close()
    return path


@pytest.fixture
def demo(demo_store: Path, tmp_path: Path) -> Path:
    """A copy of the studio's store."""
    for suffix in ("", "-wal"):
        source = Path(f"{demo_store}{suffix}")
        if source.exists():
            shutil.copy(source, tmp_path / f"demo.stockroom{suffix}")
    return tmp_path / "demo.stockroom"
