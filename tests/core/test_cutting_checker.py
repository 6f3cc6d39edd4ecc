"""The checker of cut plans sees every fault of a list, and lets sound plans pass."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from stockroom.core.cutting.check import Box, Opened, faults_of, separable
from stockroom.core.cutting.edges import Trims
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.tree import Cut, Node, Part
from stockroom.core.cutting.worth import LeftoverRule

RULE = LeftoverRule(share=0, least_side_dmm=10_000)
BLANK = Blank("b", 10_000, 8_000, 1)
PIECES = (
    CutPiece("a", 5_960, 7_800, turn=False),
    CutPiece("c", 3_800, 4_000),
    CutPiece("d", 3_000, 3_760),
)
REQUEST = Request(PIECES, (BLANK,), Saw(40, 100, 9_000, 500))
TRIMS = Trims(100, 100, 100, 100)

A = Part("piece", "a", 5_960, 7_800)
C = Part("piece", "c", 3_800, 4_000)
D = Part("piece", "d", 3_000, 3_760)
REST = Part("waste", "", 760, 3_760)
UPPER = Cut("x", 3_000, 3_800, 3_760, D, REST)
RIGHT = Cut("y", 4_000, 3_800, 7_800, C, UPPER)
TREE = Cut("x", 5_960, 9_800, 7_800, A, RIGHT)


def faults(
    tree: Node = TREE,
    *,
    request: Request = REQUEST,
    trims: Trims = TRIMS,
    opened: list[Opened] | None = None,
    left_out: tuple[tuple[str, int], ...] = (),
    cost: int = BLANK.area_dmm2,
    value: int = 0,
) -> list[str]:
    return faults_of(
        request, opened if opened is not None else [("b", trims, tree)], left_out, cost, value,
        RULE, PIECES,
    )  # fmt: skip


def test_a_sound_plan_passes() -> None:
    assert faults() == []


def wanted(**changed: object) -> Request:
    """The request with its first piece changed."""
    return replace(REQUEST, pieces=(replace(PIECES[0], **changed), *PIECES[1:]))  # type: ignore[arg-type]


SHIFTED = replace(TREE, at_dmm=5_961)
SWAPPED = replace(TREE, high=replace(RIGHT, low=D, high=replace(UPPER, low=C)))
DROPPED = replace(TREE, high=replace(RIGHT, low=Part("waste", "", 3_800, 4_000)))
DOUBLED = replace(TREE, high=replace(RIGHT, low=replace(C, code="a")))
TURNED = replace(TREE, low=replace(A, turned=True))
OFF_BY_ONE = replace(
    TREE, high=replace(RIGHT, high=replace(UPPER, high=replace(REST, width_dmm=759)))
)
MISSING = replace(TREE, high=replace(RIGHT, high=replace(UPPER, high=None)))
RENAMED = replace(TREE, high=replace(RIGHT, high=replace(UPPER, high=replace(REST, what="offcut"))))


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (lambda: faults(SHIFTED), "stands where"),
        (lambda: faults(SWAPPED), "stands where"),
        (lambda: faults(DROPPED), "accounted for 0 times"),
        (lambda: faults(DOUBLED), "accounted for 2 times"),
        (lambda: faults(TURNED), "turned and may not be"),
        (lambda: faults(OFF_BY_ONE), "nowhere"),
        (lambda: faults(MISSING), "beyond a cut"),
        (lambda: faults(RENAMED), "wrongly offcut"),
        (lambda: faults(request=replace(REQUEST, saw=Saw(41, 100, 9_000))), "stands where"),
        (lambda: faults(request=replace(REQUEST, saw=Saw(40, 110, 9_000))), "outside its usable"),
        (lambda: faults(request=replace(REQUEST, saw=Saw(40, 100, 7_000))), "longer than the saw"),
        (lambda: faults(request=wanted(count=2)), "wanted 2 times"),
        (lambda: faults(request=wanted(width_dmm=5_961)), "does not have its size"),
        (lambda: faults(request=wanted(blanks=("x",))), "may not come from it"),
        (lambda: faults(opened=[("b", TRIMS, TREE)] * 2, cost=2 * BLANK.area_dmm2), "cut 2 times"),
        (lambda: faults(opened=[("z", TRIMS, TREE)]), "not among those"),
        (lambda: faults(cost=1), "the plan says 1"),
        (lambda: faults(value=1), "worth 0, and the plan says 1"),
        (lambda: faults(left_out=(("c", 1),)), "accounted for 2 times"),
        (lambda: faults(trims=Trims(100, 100, 100, 99)), "an edge is trimmed by 99"),
    ],
)
def test_each_fault_is_seen(found: Callable[[], list[str]], said: str) -> None:
    assert any(said in fault for fault in found()), found()


def test_a_group_on_two_blanks_is_seen() -> None:
    pieces = (CutPiece("a", 4_000, 4_000, group="g"), CutPiece("c", 4_000, 4_000, group="g"))
    blank = Blank("b", 4_000, 4_000, 2, trimmed=False)
    opened: list[Opened] = [
        ("b", Trims(), Part("piece", code, 4_000, 4_000)) for code in ("a", "c")
    ]
    (fault,) = faults_of(
        Request(pieces, (blank,)), opened, (), 2 * blank.area_dmm2, 0, RULE, pieces
    )
    assert "lie on 2 blanks" in fault


def test_every_shift_of_a_part_by_one_is_seen_in_the_tree() -> None:
    for at in (5_959, 5_961):
        assert faults(replace(TREE, at_dmm=at))
    for at in (3_999, 4_001):
        assert faults(replace(TREE, high=replace(RIGHT, at_dmm=at)))
    for at in (2_999, 3_001):
        assert faults(replace(TREE, high=replace(RIGHT, high=replace(UPPER, at_dmm=at))))


def box(x: int, y: int, x_end: int, y_end: int) -> Box:
    return Box(Part("piece", "p", x_end - x, y_end - y), x, y, x_end, y_end)


def test_a_pinwheel_cannot_be_cut_from_edge_to_edge() -> None:
    pinwheel = [box(0, 0, 6, 3), box(6, 0, 9, 6), box(3, 6, 9, 9), box(0, 3, 3, 9)]
    assert not separable(pinwheel, 0)
    assert separable([*pinwheel[:3], box(0, 6, 3, 9)], 0)


def test_parts_closer_than_one_kerf_cannot_be_cut_apart() -> None:
    assert separable([box(0, 0, 5, 5), box(7, 0, 9, 5)], 2)
    assert not separable([box(0, 0, 5, 5), box(7, 0, 9, 5)], 3)
