"""The record of a piece is one page, repeats byte for byte, and holds what the books hold."""

import io
import subprocess
import sys

import pytest
from pypdf import PdfReader
from support.workshop import Workshop

from stockroom.desk.work import attempts
from stockroom.desk.papers.printed import day_sheet
from stockroom.desk.papers.piece_record import piece_record, piece_record_pdf
from stockroom.documents.record_sheet import (
    HAND_OVER,
    MOST_LAYERS,
    LayerRecord,
    PieceRecord,
    TryRecord,
    record_sheet,
)
from stockroom.errors import RefusedError

RECORD = PieceRecord(
    code="10292",
    name="Harbour III",
    work="Spring show",
    size="1200 x 800 mm",
    edition="number 3 of 8",
    build="Face mount, version 1",
    stands="Finished on Tue 3 Mar 2026",
    layers=(LayerRecord("sheet", "Cast acrylic 3 mm", "B-204", "10102", "3 Mar 2026"),),
    tries=(TryRecord("Tue 3 Mar 2026 09:00", "mount", "lost, dust: sheet, face film, paper"),),
    facts=(("Label date, paper", "1 Dec 2027"),),
)


def text_of(pdf: bytes) -> tuple[int, str]:
    pages = PdfReader(io.BytesIO(pdf)).pages
    return len(pages), "\n".join(page.extract_text() for page in pages)


def test_a_record_holds_all_it_is_given_on_one_page() -> None:
    pages, text = text_of(record_sheet(RECORD))
    assert pages == 1
    for part in (
        "Harbour III",
        "Spring show",
        "number 3 of 8",
        "B-204",
        "lost, dust: sheet, face film, paper",
        "1 Dec 2027",
        *HAND_OVER,
    ):
        assert part in text


def test_the_same_record_gives_the_same_bytes_also_elsewhere() -> None:
    program = (
        "import sys, hashlib; sys.path.insert(0, 'tests')\n"
        "from stockroom.documents.record_sheet import PieceRecord, record_sheet\n"
        "print(hashlib.sha256(record_sheet(PieceRecord('10292', 'Harbour'))).hexdigest())"
    )
    import hashlib

    out = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    here = hashlib.sha256(record_sheet(PieceRecord("10292", "Harbour"))).hexdigest()
    assert out.stdout.strip() == here


def test_long_and_odd_records_stay_on_one_page_and_say_what_is_left_out() -> None:
    layers = tuple(
        LayerRecord("sheet", "x" * 400, "\x1b[31m" + "B" * 90, "1" * 40, "day") for _ in range(40)
    )
    tries = tuple(TryRecord("\u202e" * 5 + "now", "mount", "word " * 90) for _ in range(60))
    facts = tuple((f"fact {n}", "y" * 300) for n in range(30))
    pages, text = text_of(
        record_sheet(PieceRecord("10292", "n" * 300, layers=layers, tries=tries, facts=facts))
    )
    assert pages == 1
    assert f"and {40 - MOST_LAYERS} more, in the books" in text
    for word in HAND_OVER:
        assert word in text
    assert text_of(record_sheet(PieceRecord("", "")))[0] == 1


def test_a_piece_of_the_books_is_recorded_with_what_it_holds(shop: Workshop) -> None:
    job = shop.book(count=2, edition_from=3, edition_of=8, work="Spring show")
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    for stage in ("print", "mount", "back", "frame"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    record = piece_record(shop.desk, job)
    assert {layer.part for layer in record.layers} == {
        "sheet",
        "face film",
        "paper",
        "back film",
        "board",
        "profile",
    }
    assert ("Begun again", "1 time") in record.facts
    assert text_of(piece_record_pdf(shop.desk, job))[0] == 1
    attempts.record(shop.desk, job, good=True, stage="print")
    with pytest.raises(RefusedError, match="has 2 pieces"):
        piece_record(shop.desk, job)


def test_the_day_sheet_has_boxes_for_each_way_a_stage_comes_out(shop: Workshop) -> None:
    job = shop.book(print_on=shop.desk.today())
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=True, stage="look")
    _, text = text_of(day_sheet(shop.desk))
    whole = " ".join(text.split())
    assert "Salt flats, 2 to print: [__]good lost to: [__]bad print" in whole
    assert "Salt flats, 1 to mount: [__]good lost to: [__]dust [__]bubble" in whole
