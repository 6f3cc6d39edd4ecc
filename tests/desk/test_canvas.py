"""A new row among the families: canvas on stretcher bars, from the delivery to the frame."""

from datetime import date

import pytest
from support.studio import Studio, code_of
from support.workshop import DUE

from stockroom.core.records import FINISHED, Material, Piece, Unit, Used
from stockroom.core.wording import because
from stockroom.desk import keeping
from stockroom.desk.climate import warm_tables
from stockroom.desk.condition import checking, surfaces, whites
from stockroom.desk.cutting.bars import plan_bars
from stockroom.desk.cutting.sheets import CutsSaid
from stockroom.desk.lookup import everything, find
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk
from stockroom.desk.stock import defining, receiving
from stockroom.desk.stock.opening_day import take_in_stock_list
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.stock.views import one_unit, shelf
from stockroom.desk.work import attempts, builds, jobs
from stockroom.desk.work.builds import LayerSaid
from stockroom.desk.work.jobs import JobSaid
from stockroom.desk.work.needs import material_needs
from stockroom.errors import BadValueError, RefusedError
from tui.condition.examine import examine_form
from tui.stock.lines import unit_page, unit_rows
from tui.stock.receive import receive_form
from tui.words import Target

TODAY = date(2026, 3, 2)
WRAP_DMM = 400
"""How far the canvas goes round its bars, at each edge."""


@pytest.fixture
def canvas(studio: Studio) -> str:
    """A roll of canvas, and bars to stretch it on."""
    desk = studio.desk
    stuff = defining.define_material(
        desk, "Cotton canvas 340", "canvas", "roll", width_dmm=11_180, length_dmm=120_000
    )
    defining.define_material(desk, "Pine bar 38", "stretcher bar", "length", length_dmm=30_000)
    receiving.receive(
        desk, Delivery(material="Cotton canvas 340", place="Mounting room", number="C-81")
    )
    receiving.receive(desk, Delivery(material="Pine bar 38", place="Mounting room", units=5))
    return code_of(stuff, "material")


def unit_of(desk: Desk, name: str) -> Unit:
    return next(line.unit for line in shelf(desk) if line.material.name == name)


def booked(desk: Desk, canvas: str) -> str:
    made = builds.define_build(
        desk,
        "Stretched canvas",
        [LayerSaid("paper", allowance_dmm=WRAP_DMM), LayerSaid("profile", "Pine bar 38")],
    )
    said = JobSaid(
        name="Reed bed", width_dmm=8_000, height_dmm=6_000, count=2, due_on=DUE,
        print_on=date(2026, 3, 9), material=canvas, build=code_of(made, "build"),
    )  # fmt: skip
    return code_of(jobs.book(desk, said), "job")


def test_a_roll_is_good_to_print_by_its_dates(studio: Studio, canvas: str) -> None:
    job = booked(studio.desk, canvas)
    best = checking.ok(studio.desk, job=job).best
    assert best is not None
    assert best.verdict.answer == "yes"
    assert "undated" in {reason.kind for reason in best.verdict.reasons}
    dated = Delivery(
        material=canvas, place="Mounting room", number="C-82", label_date=date(2026, 12, 1)
    )
    roll = code_of(receiving.receive(studio.desk, dated), "unit")
    told = checking.ok(studio.desk, unit=roll, job=job, day=date(2026, 12, 2)).best
    assert told is not None
    assert told.verdict.answer == "no"
    assert because(told.verdict, TODAY) == "It expires on Tue 1 Dec 2026, before the print."


def test_it_is_printed_and_stretched(studio: Studio, canvas: str) -> None:
    desk = studio.desk
    job = booked(desk, canvas)
    before = unit_of(desk, "Cotton canvas 340").remaining_dmm
    for stage in ("print", "look", "frame"):
        attempts.record(desk, job, good=True, stage=stage)
    with desk.reading() as view:
        (piece,) = everything(view, Piece)
        used = {item.part: item.qty for item in everything(view, Used)}
    assert piece.stage == FINISHED
    assert used["profile"] == 2 * (8_000 + 6_000)
    assert before - unit_of(desk, "Cotton canvas 340").remaining_dmm >= 6_000 + 2 * WRAP_DMM
    assert keeping.check(desk).faults == ()


def test_what_work_needs_of_both_is_told(studio: Studio, canvas: str) -> None:
    booked(studio.desk, canvas)
    with reckoned(studio.desk) as reckoning:
        needs = {need.material.family: need for need in material_needs(reckoning, TODAY)}
    assert set(needs) == {"canvas", "stretcher bar"}
    assert needs["stretcher bar"].safe >= 2 * 2 * (8_000 + 6_000)
    (bars,) = plan_bars(studio.desk, CutsSaid(effort=60))
    assert {(side.length_dmm, side.count) for side in bars.sides} == {(8_000, 4), (6_000, 4)}


def test_stock_shows_it_between_paper_and_the_rest(studio: Studio, canvas: str) -> None:
    lines = shelf(studio.desk)
    families = list(dict.fromkeys(line.material.family for line in lines))
    assert families == ["paper", "canvas", "sheet", "stretcher bar"]
    shown = str(unit_rows(lines, TODAY, 80))
    assert "Cotton canvas 340" in shown
    assert "does not age" in shown
    roll = one_unit(studio.desk, unit_of(studio.desk, "Cotton canvas 340").code)
    assert "no date known, none is guessed" in str(unit_page(roll, 80))
    page = str(unit_page(one_unit(studio.desk, unit_of(studio.desk, "Pine bar 38").code), 80))
    assert "Length" in page


def test_it_is_taken_in_on_the_screen_into_a_room(studio: Studio, canvas: str) -> None:
    form = receive_form(studio.desk, Target("receive"))
    values = {field.id: field.value for field in form.fields}
    values |= {"material": canvas, "count": "2", "place": studio.room, "number": "C-90"}
    assert form.told(values)[0].startswith("2 rolls, each 12.0 m")
    assert "estimated" not in " ".join(form.told(values))
    form.submit(studio.desk, values, "once")
    assert sum(line.material.code == canvas for line in shelf(studio.desk)) == 3


def test_a_stock_list_takes_it(studio: Studio) -> None:
    text = (
        "material,family,form,width_mm,length_m,batch,place\n"
        "Linen canvas,canvas,roll,1118,9,L-1,Mounting room\n"
        "Oak bar,stretcher bars,length,,2.4,,Mounting room\n"
    )
    take_in_stock_list(studio.desk, text.encode(), "list.csv")
    assert unit_of(studio.desk, "Linen canvas").remaining_dmm == 90_000
    with studio.desk.reading() as view:
        assert find(view, Material, "Oak bar").traits.serves == ("profile",)


def test_its_faults_are_written_down_and_no_strip_is_run(studio: Studio, canvas: str) -> None:
    roll = unit_of(studio.desk, "Cotton canvas 340").code
    surfaces.note_fault(studio.desk, roll, 20_000, 20_500, "slub")
    assert "Faults ahead" in str(unit_page(one_unit(studio.desk, roll), 80))
    assert examine_form(studio.desk, Target("examine", roll)).name == f"fault {roll}"
    with pytest.raises(RefusedError, match="no test strip"):
        checking.judge_strip(studio.desk, roll, "clean")
    with pytest.raises(RefusedError, match="no roll of paper"):
        whites.shown_life(studio.desk, roll)
    with pytest.raises(RefusedError, match="neither paper nor film"):
        warm_tables.set_warm_table(
            studio.desk, "Cotton canvas 340", [(12_700, 500_000, 400, 900)], "sheet of 2025"
        )


def test_only_what_serves_a_part_is_it(studio: Studio, canvas: str) -> None:
    with pytest.raises(BadValueError, match="made of profile or stretcher bar"):
        builds.define_build(studio.desk, "No frame", [LayerSaid("profile", studio.sheet)])
    with pytest.raises(BadValueError, match="nothing is printed on it"):
        checking.ok(studio.desk, material="Pine bar 38", width_dmm=8_000, height_dmm=6_000)
