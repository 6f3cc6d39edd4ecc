"""A recalled batch leads to exactly the pieces it touched, and each piece back to its batches."""

import random
import time

from support.workshop import Workshop

from stockroom.core.craft import Used
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Decision
from stockroom.desk.work.tracing import BatchTrace, batch_trace, piece_trace

PIECES, BATCHES = 300, 40
DRILL_S = 0.1
"""A trace must be told in this time, s."""


def begun(shop: Workshop) -> dict[str, set[str]]:
    """Make 300 pieces out of 40 batches straight in the books; return the pieces by batch.

    Each piece has a print and, two times of three, a mount; one mount in ten is lost.
    """
    rng = random.Random(7)
    desk = shop.desk
    from stockroom.desk.stock import receiving
    from stockroom.desk.stock.receiving import Delivery

    units: list[tuple[str, str]] = []
    for number in range(BATCHES):
        material = shop.studio.paper if number % 2 else shop.film
        done = receiving.receive(
            desk, Delivery(material=material, place="Mounting room", number=f"T-{number}")
        )
        lot = next(t.key for t in done.changes.touches if t.kind == "lot")
        units.append((next(t.key for t in done.changes.touches if t.kind == "unit"), lot))
    papers, films = units[1::2], units[0::2]
    job = shop.book(count=PIECES)
    touched: dict[str, set[str]] = {}

    def tried(stage: str, good: bool, part: str, unit: str, piece: str | None, number: int) -> str:
        born: list[str] = []

        def build(decision: Decision) -> dict[str, object]:
            code = decision.head.born()
            new = None
            if piece is None:
                born.append(decision.head.born())
                new = {"code": born[0], "number": number, "edition": None}
            return {
                "code": code,
                "job": job,
                "piece": piece,
                "new_piece": new,
                "stage": stage,
                "to_stage": "mount" if good or stage == "mount" else "print",
                "good": good,
                "cause": "" if good else "dust",
                "takes": "" if good else part,
                "area_dmm2": 100,
                "paid_by": "us",
                "prints_good": int(stage == "print"),
                "prints_lost": 0,
                "job_state": "booked",
                "draws": [{"code": decision.head.born(), "part": part, "unit": unit, "amount": 1_000}],
            }

        desk.act("try", {"n": number, "stage": stage}, build)
        return piece or born[0]

    for number in range(1, PIECES + 1):
        unit, lot = rng.choice(papers)
        piece = tried("print", True, "paper", unit, None, number)
        touched.setdefault(lot, set()).add(piece)
        if rng.random() < 2 / 3:
            unit, lot = rng.choice(films)
            tried("mount", rng.random() > 0.1, "face film", unit, piece, number)
            touched.setdefault(lot, set()).add(piece)
    return touched


def test_a_recall_finds_exactly_the_touched_pieces_both_ways(shop: Workshop) -> None:
    with shop.desk.deciding():
        touched = begun(shop)
    recalled = sorted(touched)[3]
    with reckoned(shop.desk) as reckoning:
        start = time.perf_counter()
        found = batch_trace(reckoning, [reckoning.lots[recalled]], None)
        took_s = time.perf_counter() - start
        assert isinstance(found, BatchTrace)
        assert {item.piece.code for item in found.into if item.piece} == touched[recalled]
        for lot, pieces in touched.items():
            there = batch_trace(reckoning, [reckoning.lots[lot]], None)
            assert {item.piece.code for item in there.into if item.piece} == pieces
        by_key = {item.code: item for item in shop.pieces(found.into[0].job.code)}
        for code, piece in by_key.items():
            lots = {item.lot.code for item in piece_trace(reckoning, piece).parts}
            assert lots == {lot for lot, pieces in touched.items() if code in pieces}
        lost = [item for item in reckoning.records.all(Used) if item.fate == "lost"]
    assert len(by_key) == PIECES
    assert len(lost) > 5
    assert took_s < DRILL_S
