"""Names from many languages go in, are found again, and come out on labels and lists."""

import pytest
from faker import Faker
from support.studio import Studio

from stockroom.core.model import Material
from stockroom.desk.stock import defining, receiving
from stockroom.desk.papers import printed
from stockroom.desk.day import today
from stockroom.desk.lookup import everything, find
from stockroom.desk.stock.receiving import Delivery
from stockroom.text import safe

LOCALES = ["de_DE", "fr_FR", "pl_PL", "ja_JP", "ar_EG", "el_GR"]


@pytest.mark.parametrize("locale", LOCALES)
def test_invented_names_survive(any_studio: Studio, locale: str) -> None:
    fake = Faker(locale)
    fake.seed_instance(2026)
    names = [f"{fake.last_name()} {number}" for number in range(4)]
    suppliers = [fake.company() for _ in names]
    desk = any_studio.desk
    for name, supplier in zip(names, suppliers, strict=True):
        defining.define_material(
            desk, name, "sheet", "sheet", width_dmm=20_000, length_dmm=10_000,
            supplier=supplier, tell_below=2,
        )  # fmt: skip
        receiving.receive(desk, Delivery(material=name, place="Mounting room", number=fake.name()))
    with desk.reading() as view:
        stored = {item.name: item.supplier for item in everything(view, Material)}
        for name, supplier in zip(names, suppliers, strict=True):
            assert stored[safe(name)] == supplier
            assert find(view, Material, name.upper().lower()).name == safe(name)
    wanted = [line for line in today(desk).reorder if line.material.name in stored]
    listed = printed.order_paper(wanted)
    assert all(safe(name) in listed for name in names)
    assert printed.label_sheet(desk, [])[0].startswith(b"%PDF")
