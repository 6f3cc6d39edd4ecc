"""The form that records how a print or a mount came out."""

from typing import TYPE_CHECKING

from stockroom.core.craft import CAUSES, FINISHED
from stockroom.desk.work import attempts
from stockroom.desk.work.attempts import Plan
from stockroom.text import safe
from stockroom.units import m_text, size_dmm, size_text
from tui.forms import Field, Form, Values
from tui.stock.acts import happened, when_field

if TYPE_CHECKING:
    from stockroom.desk.work.drawing import Drawn
    from stockroom.desk.session import Desk, Done
    from tui.words import Target

GOOD = "good"
SKIP = "-"
"""What is typed where a part is not taken now."""


def record_form(desk: "Desk", target: "Target") -> Form:
    """Record how a try came out; what it takes is filled in already, and can be changed."""
    stage = target.more[0] if target.more else None
    plan = attempts.plan_try(desk, target.about, stage)
    damage = plan.stage == "damage"

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        outcome = values["outcome"]
        units, without = _changed(plan, values)
        spoiled = values.get("spoiled", "").strip()
        return attempts.record(
            desk, target.about, good=outcome == GOOD, stage=plan.stage,
            cause="" if outcome == GOOD else outcome, units=units, without=without,
            spoiled_to=size_dmm(spoiled) if spoiled and outcome != GOOD else None,
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    def told(values: Values) -> list[str]:
        outcome = values["outcome"]
        lines = [_takes_text(item) for item in plan.draws]
        if outcome == GOOD:
            after = plan.recipe.after(plan.stage)
            lines.append("Good: it is finished." if after == FINISHED else f"Good: next, {after}.")
        else:
            lost = ", ".join(plan.lost(outcome)) or "nothing"
            lines.append(f"Lost to {outcome}: destroys {lost}.")
        return lines

    causes = [(cause, f"lost: {cause}") for cause in CAUSES[plan.stage]]
    outcomes = causes if damage else [(GOOD, "good"), *causes]
    fields = [
        Field(unit_field(item.part), f"{item.part[:1].upper()}{item.part[1:]} from",
              item.unit.code if item.unit else SKIP, hint=f"{SKIP} for none", scans="unit")
        for item in plan.draws
    ]  # fmt: skip
    if plan.stage == "mount" and any(item.part == "sheet" for item in plan.draws):
        fields.append(Field("spoiled", "Spoiled sheet to", hint="600 x 400, if it is lost"))
    asked = "What happened" if damage else "How it came out"
    name = f"{safe(plan.job.name)}, piece {plan.number} of {plan.job.count}"
    size = size_text(plan.job.width_dmm, plan.job.height_dmm)
    return Form(
        f"record {target.about} {plan.stage}",
        f"{plan.stage[:1].upper()}{plan.stage[1:]}: {name}, {size}",
        "Record it",
        [*fields, when_field(), Field("outcome", asked, outcomes[0][0], outcomes)],
        submit, told, "outcome",
    )  # fmt: skip


def unit_field(part: str) -> str:
    """Return the id of the field that names a part's unit.

    >>> unit_field("back film")
    'unit-back-film'
    """
    return f"unit-{part.replace(' ', '-')}"


def _changed(plan: Plan, values: Values) -> tuple[dict[str, str], list[str]]:
    """The units that a person named instead, and the parts that are not taken now."""
    units: dict[str, str] = {}
    without: list[str] = []
    for item in plan.draws:
        typed = values.get(unit_field(item.part), "").strip()
        if typed in ("", SKIP):
            if item.unit is not None:
                without.append(item.part)
        elif item.unit is None or typed != item.unit.code:
            units[item.part] = typed
    return units, without


def _takes_text(item: "Drawn") -> str:
    """What is taken for a part, and why of this unit."""
    if item.unit is None:
        return f"{item.part}: {safe(item.material.name)}, {item.why}; it is not booked."
    if item.unit.shape.by_length:
        amount = m_text(item.amount)
    elif item.cut is not None:
        amount = f"{size_text(*item.cut)} cut out"
    else:
        amount = "1"
    kept = f"; kept of it: {', '.join(size_text(*size) for size in item.offcuts)}"
    why = "put by" if item.put_by else item.why
    return (
        f"{item.part}: {amount} of {item.unit.code}, {safe(item.material.name)} ({why})"
        f"{kept if item.offcuts else ''}"
    )
