"""The invented studio, copied for each test."""

import shutil
from pathlib import Path

import pytest


@pytest.fixture
def demo(demo_store: Path, tmp_path: Path) -> Path:
    """A copy of the studio's store."""
    for suffix in ("", "-wal"):
        source = Path(f"{demo_store}{suffix}")
        if source.exists():
            shutil.copy(source, tmp_path / f"demo.stockroom{suffix}")
    return tmp_path / "demo.stockroom"
