"""Orders planned on the invented studio at the console: the plan, one material by day, papers."""

import json
from pathlib import Path
from typing import Any

import pytest
from support.workshop import Workshop

from stockroom.cli.base import run


class Console:
    """Runs commands on a small workshop with a job."""

    def __init__(self, shop: Workshop, capsys: pytest.CaptureFixture[str]) -> None:
        self.store = shop.desk.where
        self.capsys = capsys
        self.shop = shop
        shop.book("Large", count=30)
        shop.desk.close()

    def __call__(self, *words: str) -> tuple[int, str]:
        code = run(["--store", self.store, "--on", "2026-03-02", *words])
        out = self.capsys.readouterr()
        return code, " ".join((out.out + out.err).split())

    def value(self, *words: str) -> dict[str, Any]:
        run(["--store", self.store, "--on", "2026-03-02", "--json", *words])
        found: dict[str, Any] = json.loads(self.capsys.readouterr().out)
        return found


@pytest.fixture
def console(shop: Workshop, capsys: pytest.CaptureFixture[str]) -> Console:
    return Console(shop, capsys)


def test_a_plan_is_told_by_supplier_and_line_and_as_data(console: Console) -> None:
    code, text = console("orders", "plan")
    assert code == 0
    assert "Order " in text
    assert "a late job:" in text
    found = console.value("orders", "plan", "--material", "Cast acrylic 3 mm")
    (line,) = found["lines"]
    assert line["name"] == "Cast acrylic 3 mm"
    assert line["reason"] in text
    assert line["waiting_a_week"] in ("nuisance", "lost day", "lost client")


def test_the_same_seed_plans_the_same_and_another_nearly(console: Console) -> None:
    first = console.value("orders", "plan", "--seed", "3")
    assert console.value("orders", "plan", "--seed", "3") == first
    other = console.value("orders", "plan", "--seed", "4")
    assert other != first
    for one, another in zip(first["lines"], other["lines"], strict=True):
        assert one["need"]["known"] == pytest.approx(another["need"]["known"])


def test_terms_change_the_quantity_and_closed_days_the_day(console: Console) -> None:
    name = "Composite board 3 mm"
    before = console.value("orders", "plan", "--material", name)["lines"][0]
    code, _ = console("material", "terms", name, "--minimum", "100", "--multiple", "7")
    assert code == 0
    after = console.value("orders", "plan", "--material", name)["lines"][0]
    assert before["units"] < 100
    assert after["units"] >= 100
    assert after["units"] % 7 == 0
    by = after["order_by"]
    assert by is not None
    console("material", "terms", name, "--closed", f"{by}..2026-12-31")
    moved = console.value("orders", "plan", "--material", name)["lines"][0]
    assert moved["order_by"] < by or "shut now" in moved["notes"]
    code, text = console("material", "terms", name, "--break", "5=9", "--break", "9=9.50")
    assert code == 2
    assert "out of order" in text


def test_one_material_by_day_and_what_it_rests_on(console: Console) -> None:
    code, text = console("supply", "Cast acrylic 3 mm", "--days", "30")
    assert code == 0
    assert "By day, nothing more ordered" in text
    assert "Known work:" in text
    found = console.value("supply", "Cast acrylic 3 mm", "--days", "30")
    assert len(found["by_day"]) == 30
    need = found["line"]["need"]
    known = sum(row["pieces"] * row["each_try"] for row in found["rows"]["work"])
    assert need["known"] == pytest.approx(known)
    assert need["mean"] == pytest.approx(need["known"] + need["repeats"] + need["not_known_yet"])
    code, text = console("supply", "Nothing of it")
    assert code == 2
    assert "There is no material" in text


def test_papers_of_a_plan(console: Console, tmp_path: Path) -> None:
    code, text = console("orders", "plan", "--csv")
    assert code == 0
    assert text.startswith("supplier,code,material,quantity,reason")
    to = tmp_path / "orders.pdf", tmp_path / "orders.ics"
    code, text = console("orders", "plan", "--pdf", str(to[0]), "--ics", str(to[1]))
    assert code == 0, text
    assert to[0].read_bytes().startswith(b"%PDF")
    assert to[1].read_bytes().count(b"BEGIN:VEVENT") >= 1
    code, text = console("orders", "plan", "--pdf", str(to[0]))
    assert code != 0
    assert "Traceback" not in text
    code, text = console("orders", "plan", "--text", "--pdf", str(to[0]))
    assert code == 2
    assert "alone" in text


def test_what_if_tells_both_sides_and_what_cannot_be_asked(console: Console) -> None:
    code, text = console("whatif", "--lead", "2", "--days", "30", "--courses", "2")
    assert code == 0
    assert "With lead times x 2; 30 days run 2 times on the same chances" in text
    found = console.value("whatif", "--warmer", "8", "--days", "30", "--courses", "2")
    assert found["life_factor"] < 1
    more = found["difference"]["total"]["mean"]
    assert more == pytest.approx(found["changed"]["total"] - found["as_it_is"]["total"])
    for words, said in (
        ((), "Nothing is changed"),
        (("--lead", "0"), "It is a factor from 0.1 to 10"),
        (("--volume", "9"), "It is a factor from 0.1 to 3"),
        (("--lost-supplier", "Nobody"), "No material comes from"),
        (("--lost-supplier", " "), "Nothing is changed"),
        (("--lead", "2", "--days", "9999"), "cannot be run"),
    ):
        code, text = console("whatif", *words)
        assert code == 2
        assert said in text


def test_a_last_buy_is_told_by_chance_and_refuses_what_no_freezer_helps(console: Console) -> None:
    code, text = console("orders", "last-buy", "Satin colour paper 127", "--years", "2",
                         "--freezer", "-18")  # fmt: skip
    assert code == 0
    assert "Enough with 90 %" in text
    assert "run a strip before each use" in text
    code, text = console("orders", "last-buy", "Cast acrylic 3 mm", "--years", "2",
                         "--freezer", "-18")  # fmt: skip
    assert code == 2
    assert "goes by its date" in text
    code, text = console("orders", "last-buy", "Cast acrylic 3 mm", "--years", "90")
    assert code == 2
    assert "cannot be asked" in text
