"""Builds: how pieces are made, of which layers, and what a loss at each stage destroys."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, astuple, dataclass
from typing import Any

from stockroom.core.making.recipe import Recipe, standard_rules
from stockroom.core.records import (
    CAUSES,
    PARTS,
    TRY_STAGES,
    Build,
    Layer,
    LossRule,
    Material,
    Part,
    Stage,
    Trim,
    TryStage,
    Turn,
)
from stockroom.core.records.asked import check_fields, check_word
from stockroom.core.records.traits import made_of
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError, UnknownCodeError
from stockroom.store.view import StoreView
from stockroom.text import nearest, safe

STAGE_OF: dict[Part, Stage] = {
    "sheet": "mount",
    "face film": "mount",
    "paper": "print",
    "back film": "back",
    "board": "back",
    "profile": "frame",
}
"""The stage that usually takes a part."""


@dataclass(frozen=True, slots=True)
class LayerSaid:
    """One layer as a person tells it; without a material the job names it."""

    part: Part
    material: str | None = None
    instead: str | None = None
    allowance_dmm: int = 0
    turn: Turn = "any"
    stage: Stage | None = None


RuleSaid = tuple[TryStage, str, Sequence[Part]]
"""A loss at a stage, its cause ("" for any), and the parts it destroys."""


def define_build(
    desk: Desk,
    name: str,
    layers: Sequence[LayerSaid],
    *,
    trim: Trim = "after",
    looks: bool = True,
    sign_days: int | None = None,
    rules: Sequence[RuleSaid] = (),
    key: str | None = None,
) -> Done:
    """Write down how a piece is made.

    Parameters
    ----------
    name : str
        What people call it; no other build that is offered may have it.
    layers : sequence of LayerSaid
        Its layers in any order; the print's own may be left out.
    trim : str
        Mounted oversize and trimmed "after", or sheet cut to size and print trimmed "before".
    looks : bool
        Whether a print is looked at before it goes on.
    sign_days : int, optional
        How long signing and titling usually takes; None where a piece is not signed.
    rules : sequence of RuleSaid
        What losses destroy, where it is not the usual.

    Raises
    ------
    RefusedError
        Where another build has the name.
    BadValueError
        Where a layer, a rule or a figure cannot be; a build without a stage that takes anything.
    """
    fields = _checked_fields(name, trim, looks, sign_days)
    _checked_layers(layers)
    request = _request(fields, layers, rules)

    def build(decision: Decision) -> dict[str, Any]:
        for other in everything(decision.view, Build):
            if other.name == fields["name"] and not other.retired:
                raise RefusedError(
                    f"There is a build {other.name} already ({other.code}).",
                    try_=f"Change it: stockroom build change {other.code}, or give another name.",
                )
        return _payload(decision, fields, layers, rules)

    return desk.act("build", request, build, key=key)


def change_build(
    desk: Desk,
    said: str,
    layers: Sequence[LayerSaid] | None = None,
    *,
    name: str | None = None,
    trim: Trim | None = None,
    looks: bool | None = None,
    sign_days: int | None = None,
    never_signed: bool = False,
    rules: Sequence[RuleSaid] = (),
    key: str | None = None,
) -> Done:
    """Change a build: a new version takes its place, and jobs keep the one they were booked with.

    What is not given stays; layers given take the place of those of the same part, rules of those
    for the same stage and cause.
    """
    _checked_layers(layers or (), some=False)
    given = {
        "name": name,
        "trim": trim,
        "looks": looks,
        "sign_days": None if never_signed else sign_days,
    }

    def build(decision: Decision) -> dict[str, Any]:
        old = find_build(decision.view, said)
        recipe = recipe_in(decision.view, old)
        fields = _checked_fields(
            name or old.name,
            trim or old.trim,
            old.looks if looks is None else looks,
            None if never_signed else old.sign_days if sign_days is None else sign_days,
        )
        kept: dict[Part, LayerSaid] = {
            layer.part: LayerSaid(**{name: getattr(layer, name) for name in LayerSaid.__slots__})
            for layer in recipe.layers
        }
        kept |= {layer.part: layer for layer in layers or ()}
        old_rules = {(rule.stage, rule.cause): rule.parts for rule in recipe.rules}
        old_rules |= {(stage, cause): tuple(parts) for stage, cause, parts in rules}
        told: list[RuleSaid] = [
            (stage, cause, parts)  # type: ignore[misc]
            for (stage, cause), parts in old_rules.items()
        ]
        return _payload(decision, fields, list(kept.values()), told, retires=old.code)

    request = {"of": said, **_request(given, layers or (), rules)}
    return desk.act("build", request, build, key=key)


def retire_build(desk: Desk, said: str, *, again: bool = False, key: str | None = None) -> Done:
    """Offer a build for new jobs no longer, or again; jobs booked with it keep it."""

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Build, said) if again else find_build(decision.view, said)
        return {"build": found.code, "retired": not again}

    return desk.act("retire build", {"of": said, "again": again}, build, key=key)


def find_build(view: StoreView, said: str) -> Build:
    """Return a build by its code, or the offered one of a name or its beginning.

    Raises
    ------
    UnknownCodeError
        Where none, or more than one, answers to it.
    """
    by_code = view.get(Build, said.strip()) if said.isascii() else None
    if by_code is not None:
        return by_code
    offered = [item for item in everything(view, Build) if not item.retired]
    folded = said.strip().casefold()
    exact = [item for item in offered if item.name.casefold() == folded]
    begins = [item for item in offered if folded and item.name.casefold().startswith(folded)]
    found = exact or begins
    if len(found) == 1:
        return found[0]
    shown = safe(said, length=40)
    if found:
        some = ", ".join(f"{item.code} {item.name}" for item in found[:5])
        raise UnknownCodeError(
            f"More than one build is called {shown!r}.", f"It could be {some}.", "Give its code."
        )
    close = nearest(said, [item.name for item in offered])
    raise UnknownCodeError(
        f"There is no build {shown!r}.",
        try_=f"Did you mean {', '.join(close)}?" if close else "See: stockroom build list.",
        nearest=close,
    )


def recipe_in(view: StoreView, build: Build | None) -> Recipe:
    """Return a build with its layers and rules, as the books hold them."""
    if build is None:
        return Recipe()
    layers = sorted(view.having(Layer, "build", build.code), key=lambda item: item.position)
    return Recipe(build, tuple(layers), tuple(view.having(LossRule, "build", build.code)))


def _checked_fields(name: str, trim: str, looks: bool, sign_days: int | None) -> dict[str, Any]:
    name = safe(name, length=80)
    if not name:
        raise BadValueError("A build needs a name.", try_="Give it one, such as 'Face mount'.")
    told = {"name": name, "trim": trim, "looks": looks, "sign_days": sign_days}
    check_fields(Build, told)
    return told


def _checked_layers(layers: Sequence[LayerSaid], *, some: bool = True) -> None:
    parts = [layer.part for layer in layers]
    if some and not set(parts) - {"paper"}:
        raise BadValueError(
            "A build without a stage after the print is no build.",
            "Nothing would be mounted, backed or framed.",
            "Name at least a sheet, a film, a board or a profile; a bare print needs no build.",
        )
    for layer in layers:
        check_fields(Layer, asdict(layer))
        if parts.count(layer.part) > 1:
            raise BadValueError(
                f"The {layer.part} was told twice.", try_="Tell each layer once, with its stage."
            )


def _request(
    fields: Mapping[str, Any], layers: Sequence[LayerSaid], rules: Sequence[RuleSaid]
) -> dict[str, Any]:
    return {
        **fields,
        "layers": [list(astuple(item)) for item in layers],
        "rules": [[stage, cause, list(parts)] for stage, cause, parts in rules],
    }


def _payload(
    decision: Decision,
    fields: Mapping[str, Any],
    said: Sequence[LayerSaid],
    rules: Sequence[RuleSaid],
    retires: str | None = None,
) -> dict[str, Any]:
    """The act's payload: layers by their place in the piece, and all rules of loss."""
    before = [b.version for b in everything(decision.view, Build) if b.name == fields["name"]]
    version = 1 + max(before, default=0)
    made = Build(code=decision.head.born(), version=version, **fields)
    layers = []
    for position, layer in enumerate(sorted(said, key=lambda item: PARTS.index(item.part)), 1):
        drawn_at = layer.stage or STAGE_OF[layer.part]
        if layer.part == "paper" and drawn_at != "print":
            raise BadValueError("The paper is taken at the print, and nowhere else.")
        layers.append(
            {
                **asdict(layer),
                "code": decision.head.born(),
                "position": position,
                "stage": drawn_at,
                "material": _material(decision, layer.part, layer.material),
                "instead": _material(decision, layer.part, layer.instead),
            }
        )
    usual = standard_rules(layer.part for layer in said)
    told: dict[tuple[str, str], Sequence[str]] = {(at, why): lost for at, why, lost in usual}
    for stage, cause, parts in rules:
        _checked_rule(stage, cause, parts, {layer.part for layer in said} | {"paper"})
        told[stage, cause] = parts
    return {
        "build": {name: value for name, value in made.plain().items() if name != "last_act"},
        "layers": layers,
        "rules": [
            {
                "code": decision.head.born(),
                "stage": stage,
                "cause": cause,
                "takes": ", ".join(part for part in PARTS if part in parts),
            }
            for (stage, cause), parts in told.items()
        ],
        "retires": retires,
    }


def _material(decision: Decision, part: Part, said: str | None) -> str | None:
    if said is None:
        return None
    found = find(decision.view, Material, said)
    if part not in found.traits.serves:
        raise BadValueError(
            f"{found.name} is {found.family}; it cannot be the {part}.",
            f"The {part} is made of {' or '.join(made_of(part))}.",
            "Look at: stockroom material list.",
        )
    return found.code


def _checked_rule(stage: TryStage, cause: str, parts: Sequence[str], had: set[str]) -> None:
    check_word("Stage at which a piece is lost", stage, TRY_STAGES)
    if cause:
        check_word(f"Cause at {stage}", cause, CAUSES[stage])
    for part in parts:
        if part not in had:
            raise BadValueError(
                f"This build has no {safe(part, length=30)}, so no loss can take it.",
                f"It has: {', '.join(name for name in PARTS if name in had)}.",
            )


def all_recipes(view: StoreView) -> list[Recipe]:
    """Return the offered builds with their layers, by name."""
    offered = [item for item in everything(view, Build) if not item.retired]
    found = [recipe_in(view, item) for item in offered]
    return sorted(found, key=lambda item: item.build.name if item.build else "")
