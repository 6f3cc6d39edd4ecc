"""What is known of how a material is kept, each line with your own figure or our proposal."""

from collections.abc import Iterator
from dataclasses import replace

from stockroom.core.figures import Input, of_constant, of_label
from stockroom.core.freshness.drift import Quantity
from stockroom.core.records import CARE, Material
from stockroom.core.records.asked import Asked, asked

WHITE_LIMITS: dict[Quantity, tuple[str, str]] = {
    "b*": ("white_watch_centi", "white_act_centi"),
    "density": ("density_watch_milli", "density_act_milli"),
}
"""Fields of the drifts at which to watch and to act, by what was measured."""


def white_limits(material: Material, quantity: Quantity) -> tuple[float, float]:
    """Return the drifts of paper white at which to watch and to act: the user's, or ours.

    In b*, or in blue density.

    >>> white_limits(Material(code="1", name="Satin", family="paper", form="roll",
    ...                       white_act_centi=200), "b*")
    (0.7, 2.0)
    """
    watch, act = (own_or_ours(material, field) for field in WHITE_LIMITS[quantity])
    return min(watch, act), act


def own_or_ours(material: Material, field: str) -> float:
    """Return the workshop's own figure for a field of a material, in its unit, or our proposal.

    >>> own_or_ours(Material(code="1", name="Satin", family="paper", form="roll"), "core_dmm")
    89.0
    """
    one, own = asked(Material)[field], getattr(material, field)
    if own is None and one.ours:
        return one.ours.value
    return float(own / one.measure.per)


def care_of(material: Material) -> Iterator[Input]:
    """Yield what is known of how a material is kept: your own figures, and ours as proposals."""
    for name, one in asked(Material).items():
        if one.by == CARE and _is_told(material, name, one):
            yield care_input(material, name)


def care_input(material: Material, field: str) -> Input:
    """Return one field of how a material is kept as an input: your own figure, or our proposal.

    >>> paper = Material(code="1", name="Satin", family="paper", form="roll", core_dmm=895)
    >>> care_input(paper, "core_dmm")
    Input(name='Core across', value='89.5 mm', source='your own')
    >>> care_input(paper, "white_watch_centi").source.partition("; a ")[2]
    'proposal, yours to change'
    """
    one, own = asked(Material)[field], getattr(material, field)
    if one.both:
        return of_label(one.label, band_text(material))
    shown = own if own is None or one.unit is None else one.measure.text(own)
    if own is not None and one.source_in:
        return Input(one.label, shown, getattr(material, one.source_in) or "your own")
    if one.ours is None:
        return of_label(one.label, shown)
    if own is not None:
        return Input(one.label, shown, "your own")
    ours = of_constant(one.label, one.ours)
    told = "its own sheet is not written down" if one.source_in else "a proposal, yours to change"
    return replace(ours, source=f"{ours.source}; {told}")


def _is_told(material: Material, name: str, one: Asked) -> bool:
    """Whether a field is known of a material, or is one for which we propose something."""
    own = getattr(material, name)
    if own is None and one.both:
        own = getattr(material, one.below)
    proposed = one.ours and getattr(material.traits, one.ours_of or one.of)
    return bool(proposed) or own not in (None, "")


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
