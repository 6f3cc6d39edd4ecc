"""The figure of a roll's length: how much, how sure, how it was last known."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.caliper import plus_minus_of
from stockroom.core.constants import CORE_UNSURE, COVERAGE
from stockroom.core.figures import Figure, Input, of_constant
from stockroom.core.records import Unit
from stockroom.desk.condition.diameter import winding_of, windings_of
from stockroom.desk.reckoning import Reckoning
from stockroom.units import m_text, mm_text


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield the length of a roll in stock."""
    if not unit.shape.wound:
        return
    material = reckoning.material_of(unit)
    wound, rolls = winding_of(reckoning, material)
    off = f" ± {m_text(unit.plus_minus_dmm)}" if unit.plus_minus_dmm else ""
    count = "one roll" if rolls == 1 else f"{rolls} rolls"
    whence = (
        Input("Caliper as wound", f"{wound.caliper_mm:.4f} mm", f"from {count} of known length")
        if rolls
        else Input("Caliper", f"{wound.caliper_mm:.3f} mm", "its label's; not calibrated yet")
    )
    core_source = "its material's, as measured"
    if material.core_dmm is None:
        core_source = f"a usual one; {CORE_UNSURE.source} ({CORE_UNSURE.sure})"
    yield Figure(
        "Length",
        "Length left",
        f"{m_text(unit.remaining_dmm)}{off}",
        "What it came with or was last counted as, less what was drawn since. By diameter: "
        "L = pi (D² - d²) / (4 t), with t the caliper as wound of rolls of known length.",
        (
            Input("Came with", m_text(unit.length_dmm), "as booked"),
            whence,
            Input(
                "Core across",
                f"{mm_text(round(wound.core_mm * 10))} ± {plus_minus_of(wound.core_sd_mm):.1f} mm",
                core_source,
            ),
            *(
                Input(
                    "Measured roll",
                    f"{m_text(item.length_dmm)}, {item.outer_dmm / 10:.1f} mm across, core "
                    f"{item.core_dmm / 10:.1f} mm",
                    f"act {item.act}",
                )
                for item in windings_of(reckoning, material)
            ),
            of_constant("Holds with", COVERAGE),
        ),
        form="count",
    )
