"""A bench card draws the sheet to scale, with numbered cuts, its parts, and its code to scan."""

import io
import re

from pypdf import PdfReader

from stockroom.documents.bench_card import BenchCard, DrawnPart, bench_cards

CARD = BenchCard(
    code="11523",
    title="Cast acrylic 3 mm",
    blank="offcut 10428, 1220 x 2030 mm",
    stands="Stands in Rack A",
    width_dmm=12_200,
    height_dmm=20_300,
    parts=(
        DrawnPart("piece", 1, 0, 0, 12_200, 8_200),
        DrawnPart("offcut", 2, 0, 8_240, 12_200, 12_000),
        DrawnPart("waste", 0, 0, 20_280, 12_200, 20),
    ),
    listed=(("1", "1220 x 820 mm", "Reed bed, sheet"), ("2", "1220 x 1200 mm", "offcut to keep")),
    cuts=("1220 x 2030 mm: level, 820 mm from the lower edge, 1220 mm long",),
    trims="Trim 10 mm off, blade and all: left, lower edge",
    cautions=("The whole, 1220 x 2030 mm: 9.1 kg. Follow local rules",),
)  # fmt: skip


def page(card: BenchCard) -> str:
    (only,) = PdfReader(io.BytesIO(bench_cards([card]))).pages
    return str(only.extract_text())


def rectangles(card: BenchCard) -> list[tuple[float, ...]]:
    (only,) = PdfReader(io.BytesIO(bench_cards([card]))).pages
    contents = only.get_contents()
    assert contents is not None
    found = re.findall(r"n ([-\d. ]+) re [BS]", contents.get_data().decode("latin-1"))
    return [tuple(map(float, numbers.split())) for numbers in found]


def test_a_card_says_all_that_is_needed_at_the_saw() -> None:
    text = page(CARD)
    for said in (
        "Cast acrylic 3 mm", "Card 11523: offcut 10428, 1220 x 2030 mm", "Stands in Rack A",
        "Trim 10 mm off", "820 mm from the lower edge", "Reed bed, sheet", "offcut to keep",
        "Follow local rules",
    ):  # fmt: skip
        assert said in text


def test_the_drawing_is_to_scale() -> None:
    whole, *parts = rectangles(CARD)
    scale = whole[2] / CARD.width_dmm
    for part, (x, y, wide, high) in zip(CARD.parts, parts, strict=True):
        assert abs(x - whole[0] - part.x_dmm * scale) < 0.02
        assert abs(y - whole[1] - part.y_dmm * scale) < 0.02
        assert abs(wide - part.width_dmm * scale) < 0.02
        assert abs(high - part.height_dmm * scale) < 0.02


def test_the_drawing_stays_on_the_page_whatever_the_sheet() -> None:
    for wide, high in ((40_000, 300), (300, 40_000), (30_500, 20_300)):
        card = BenchCard("1", "T", "b", "s", wide, high, (), (), ())
        x, y, drawn_wide, drawn_high = rectangles(card)[0]
        assert x > 0
        assert y > 0
        assert x + drawn_wide < 595
        assert y + drawn_high < 842


def test_more_lines_than_a_page_holds_are_counted() -> None:
    many = tuple((str(n), "10 x 10 mm", "x") for n in range(60))
    cuts = tuple(f"cut {n}" for n in range(60))
    text = page(BenchCard("77", "T", "b", "s", 1_000, 1_000, (), many, cuts))
    assert "and 40 more" in text
    assert "and 38 more: stockroom cuts show 77" in text


def test_a_sheet_of_the_very_size_needs_no_cut() -> None:
    assert "None: it has that very size." in page(
        BenchCard("77", "T", "b", "s", 1_000, 1_000, (), (), ())
    )


def test_the_same_cards_are_the_same_bytes_a_page_each() -> None:
    data = bench_cards([CARD, CARD])
    assert data == bench_cards([CARD, CARD])
    assert len(PdfReader(io.BytesIO(data)).pages) == 2
