"""What is known of how a material is kept, each line with your own figure or our proposal."""

from collections.abc import Iterator

from stockroom.core.facts import (
    CORE_OUTER_DIAMETER,
    FILM_TRIM_AFTER,
    HUMIDITY_LIMIT,
    SETTLE_DAYS,
    WHITE_ACT_B,
    WHITE_ACT_DENSITY,
    WHITE_WATCH_B,
    WHITE_WATCH_DENSITY,
)
from stockroom.core.figures import Input, of_label, own_or
from stockroom.core.model import Material


def white_limits(material: Material, *, density: bool = False) -> tuple[float, float]:
    """Return the drifts of paper white at which to watch and to act: the user's, or ours.

    In b*, or in blue density.

    >>> white_limits(Material(code="1", name="Satin", family="paper", form="roll",
    ...                       white_act_centi=200))
    (0.7, 2.0)
    """
    if density:
        own = (material.density_watch_milli, material.density_act_milli)
        facts, scale = (WHITE_WATCH_DENSITY, WHITE_ACT_DENSITY), 1_000
    else:
        own = (material.white_watch_centi, material.white_act_centi)
        facts, scale = (WHITE_WATCH_B, WHITE_ACT_B), 100
    watch, act = (
        fact.value if mine is None else mine / scale for mine, fact in zip(own, facts, strict=True)
    )
    return min(watch, act), act


def humidity_limit_pct(material: Material) -> float:
    """Return the humidity above which opened material is not left, % RH."""
    own = material.humidity_limit_pct
    return HUMIDITY_LIMIT.value if own is None else float(own)


def core_mm(material: Material) -> float:
    """Return the outer diameter of the core its rolls are wound on, mm."""
    return CORE_OUTER_DIAMETER.value if material.core_dmm is None else material.core_dmm / 10


def care_of(material: Material) -> Iterator[Input]:
    """Yield what is known of how a material is kept: your own figures, and ours as proposals."""
    traits = material.traits
    if traits.on_core:
        yield own_or(
            "Humidity limit once opened", material.humidity_limit_pct, "% RH", HUMIDITY_LIMIT
        )
        yield own_or("Core across", _scaled(material.core_dmm, 10), "mm", CORE_OUTER_DIAMETER)
    if traits.white_judged:
        for name, mine, unit, fact in (
            ("Watch the white from", _scaled(material.white_watch_centi, 100), "b*", WHITE_WATCH_B),
            ("Life over at", _scaled(material.white_act_centi, 100), "b*", WHITE_ACT_B),
            (
                "Watch the white from",
                _scaled(material.density_watch_milli, 1_000),
                "blue density",
                WHITE_WATCH_DENSITY,
            ),
            (
                "Life over at",
                _scaled(material.density_act_milli, 1_000),
                "blue density",
                WHITE_ACT_DENSITY,
            ),
        ):
            yield own_or(name, mine, unit, fact)
    if material.opened_life_days is not None:
        yield of_label("Life once opened", f"{material.opened_life_days} days")
    if material.band_low_centi_c is not None or material.band_high_centi_c is not None:
        yield of_label("Kept between", band_text(material))
    if material.use_least_centi_c is not None:
        yield of_label("Not used below", f"{material.use_least_centi_c / 100:g} °C")
    if traits.adhesive:
        if material.liners is not None:
            yield of_label("Liners", str(material.liners))
        yield from _bonds(material)
    if traits.rigid:
        if material.sheet_process:
            yield of_label("Made as", f"{material.sheet_process} sheet")
        yield own_or("Settles in", material.settle_days, "days", SETTLE_DAYS)
    if material.goods_kind:
        yield of_label("Kind of good", material.goods_kind)


def care_lines(material: Material) -> Iterator[str]:
    """Yield what is known of how a material is kept, a line for each."""
    yield f"{material.code}  {material.name}"
    for item in care_of(material):
        yield f"  {item.name}: {item.value} [{item.source}]"


def band_text(material: Material) -> str:
    """Return a storage band as text.

    >>> band_text(Material(code="1", name="Film", family="film", form="roll",
    ...                    band_low_centi_c=1_000, band_high_centi_c=2_500))
    '10 and 25 °C'
    """
    low, high = (
        None if end is None else f"{end / 100:g}"
        for end in (material.band_low_centi_c, material.band_high_centi_c)
    )
    return f"{low or 'any cold'} and {high or 'any warmth'} °C"


def _bonds(material: Material) -> Iterator[Input]:
    if material.bond_source is None:
        yield Input(
            "Trimmed after",
            f"not before {FILM_TRIM_AFTER.value:g} h",
            f"{FILM_TRIM_AFTER.source} ({FILM_TRIM_AFTER.sure}); its own sheet is not written down",
        )
        return
    yield Input("Bond times by", material.bond_source, "as you wrote it down")
    for name, hours in (
        ("Trimmed after", material.trim_after_h),
        ("Full bond after", material.full_bond_h),
    ):
        told = "not told by it" if hours is None else f"{hours} h"
        yield Input(name, told, material.bond_source)


def _scaled(value: int | None, scale: int) -> float | None:
    return None if value is None else value / scale
