"""The demo's story is told in the order in which it happened."""

from pathlib import Path
from shutil import copyfile

from seeds_demo.studio import open_demo
from stockroom.desk.stock import counting


def test_the_clock_only_goes_forward(demo_store: Path, tmp_path: Path) -> None:
    desk = open_demo(Path(copyfile(demo_store, tmp_path / "demo.stockroom")))
    acts = [line.act for line in reversed(counting.trail(desk, 1000))]
    desk.close()
    assert [act.seq for act in acts] == list(range(1, len(acts) + 1))
    times = [act.recorded_s for act in acts]
    assert times == sorted(times)
    assert len({act.kind for act in acts}) >= 14
