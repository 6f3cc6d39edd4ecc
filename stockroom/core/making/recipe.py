"""A build read as a recipe: which stages there are, what each draws, what a loss destroys."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stockroom.core.craft import (
    FINISHED,
    PARTS,
    STAGES,
    Build,
    Layer,
    LossRule,
    Part,
    Stage,
    Try,
    TryStage,
)
from stockroom.core.constants import LOSS_SHARES_WORTH, MOUNT_LOSS_SHARES
from stockroom.core.making.chain import Chain, Kind, State, Step, Way
from stockroom.core.model import Job

PAPER: Part = "paper"
_KIND: dict[str, Kind] = {"print": "print", "mount": "mount", "back": "back"}


@dataclass(frozen=True, slots=True)
class Recipe:
    """How the pieces of a job are made; without a build they are printed, and that is all.

    Attributes
    ----------
    build : Build or None
        The build.
    layers : tuple of Layer
        Its layers, front to back.
    rules : tuple of LossRule
        What losses destroy; where no rule holds, all that is in the piece.
    """

    build: Build | None = None
    layers: tuple[Layer, ...] = ()
    rules: tuple[LossRule, ...] = ()

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The stages of a piece in their order.

        >>> Recipe().stages
        ('print',)
        """
        build = self.build
        if build is None:
            return ("print",)
        signed = build.sign_days is not None
        wanted: set[str] = {"print", *(layer.stage for layer in self.layers)}
        wanted |= {"look"} if build.looks else set()
        wanted |= {"sign"} if signed else set()
        wanted |= {"look again"} if signed and build.looks else set()
        return tuple(stage for stage in STAGES if stage in wanted)

    def after(self, stage: str) -> str:
        """Return the stage that follows, or that the piece is finished."""
        at = self.stages.index(stage)
        return self.stages[at + 1] if at + 1 < len(self.stages) else FINISHED

    def drawn_at(self, stage: str) -> tuple[Layer, ...]:
        """Return the layers that a stage takes."""
        return tuple(layer for layer in self.layers if layer.stage == stage)

    def layer(self, part: str) -> Layer | None:
        """Return the layer of a part, if the build has one."""
        return next((layer for layer in self.layers if layer.part == part), None)

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts of a finished piece, front to back; always with its print."""
        had = {PAPER, *(layer.part for layer in self.layers)}
        return tuple(part for part in PARTS if part in had)

    def stage_of(self, part: str) -> str:
        """Return the stage that takes a part."""
        layer = self.layer(part)
        return layer.stage if layer is not None else "print"

    def upto(self, stage: str) -> frozenset[str]:
        """Return the parts that are in a piece when a stage has been passed."""
        if stage not in self.stages:
            return frozenset(self.parts)
        last = self.stages.index(stage)
        passed = self.stages[: last + 1]
        return frozenset(part for part in self.parts if self.stage_of(part) in passed)

    def before(self, stage: str) -> frozenset[str]:
        """Return the parts that a piece has that waits for a stage."""
        if stage not in self.stages:
            return frozenset(self.parts)
        passed = self.stages[: self.stages.index(stage)]
        return frozenset(part for part in self.parts if self.stage_of(part) in passed)

    def takes(self, stage: str, cause: str = "") -> tuple[Part, ...]:
        """Return the parts that a loss at a stage destroys, front to back.

        The rule of the cause decides, else the rule of the stage, else all that is in the piece.
        """
        rules = {rule.cause: rule for rule in self.rules if rule.stage == stage}
        rule = rules.get(cause) or rules.get("")
        gone = self.upto(stage) if rule is None else self.upto(stage) & set(rule.parts)
        return tuple(part for part in PARTS if part in gone)

    def back_to(self, held: Iterable[str], stage: str) -> str:
        """Return where a piece goes on after a loss: the earliest stage that lacks a part.

        Parameters
        ----------
        held : iterable of str
            The parts still good.
        stage : str
            Where it was lost; it stays there where nothing before is lacking.
        """
        held = set(held)
        stages = self.stages
        last = stages.index(stage) if stage in stages else len(stages)
        for number, name in enumerate(stages):
            lacks = any(self.stage_of(part) == name and part not in held for part in self.parts)
            if lacks and (number < last or stage not in stages):
                return name
        return stage if stage in stages else stages[-1]

    def chain(self, lost: Mapping[str, Mapping[tuple[str, ...], float]] | None = None) -> Chain:
        """Return the steps of a piece that take material, for counting what is still needed.

        Looking and signing take none, and what is lost there is counted with the prints.

        Parameters
        ----------
        lost : mapping of stage to (parts, number), optional
            Losses counted so far, by what they destroyed; `counted_losses` tells them.
        """
        steps = []
        for stage in self.stages:
            drawn = tuple(PARTS.index(part) for part in self.parts if self.stage_of(part) == stage)
            kind = _KIND.get(stage, "sure")
            if stage == "print":
                drawn = (PARTS.index(PAPER),)
            elif not drawn:
                continue
            shares = self._shares(stage, (lost or {}).get(stage, {})) if kind != "sure" else {}
            steps.append(
                Step(
                    drawn,
                    kind,
                    tuple(
                        Way(share, frozenset(PARTS.index(part) for part in parts))
                        for parts, share in sorted(shares.items())
                    ),
                )
            )
        return Chain(tuple(steps))

    def _shares(
        self, stage: str, counted: Mapping[tuple[str, ...], float]
    ) -> dict[tuple[str, ...], float]:
        """Shares among the losses of a stage, by what they destroy; our guess counts as a few."""
        worth: dict[tuple[str, ...], float] = {}
        guess = MOUNT_LOSS_SHARES if stage == "mount" else {"": 1.0}
        for cause, share in guess.items():
            gone: tuple[str, ...] = self.takes(stage, cause)
            worth[gone] = worth.get(gone, 0.0) + share * LOSS_SHARES_WORTH.value
        for lost, number in counted.items():
            if set(lost) <= self.upto(stage):
                worth[lost] = worth.get(lost, 0.0) + number
        total = sum(worth.values())
        return {parts: number / total for parts, number in worth.items()}

    def state(self, stage: str, held: Iterable[str]) -> State:
        """Return where a piece stands in `chain`: the step it waits for, and the parts in hand."""
        drawing = [name for name in self.stages if name == "print" or self._draws(name)]
        if stage == FINISHED:
            return len(drawing), frozenset(PARTS.index(part) for part in self.parts)
        at = STAGES.index(stage)
        step = sum(STAGES.index(name) < at for name in drawing)
        before = {part for part in self.parts if self.stage_of(part) in drawing[:step]}
        hand = before | (set(held) & set(self.parts))
        return step, frozenset(PARTS.index(part) for part in hand)

    def _draws(self, stage: str) -> bool:
        return any(layer.stage == stage for layer in self.layers)


def recipe_of(
    job: Job, builds: Mapping[str, Build], layers: Sequence[Layer], rules: Sequence[LossRule]
) -> Recipe:
    """Return the recipe of a job from the records of all builds."""
    build = builds.get(job.build or "")
    if build is None:
        return Recipe()
    mine = sorted(
        (layer for layer in layers if layer.build == build.code), key=lambda item: item.position
    )
    return Recipe(build, tuple(mine), tuple(rule for rule in rules if rule.build == build.code))


def counted_losses(tries: Iterable[Try]) -> dict[str, dict[tuple[str, ...], float]]:
    """Return how often each stage destroyed which parts."""
    found: dict[str, dict[tuple[str, ...], float]] = {}
    for tried in tries:
        if not tried.good:
            parts = tuple(part for part in PARTS if part in tried.takes.split(", "))
            of_stage = found.setdefault(tried.stage, {})
            of_stage[parts] = of_stage.get(parts, 0.0) + 1
    return found


def standard_rules(parts: Iterable[str]) -> list[tuple[TryStage, str, tuple[Part, ...]]]:
    """Return what losses destroy by common practice, for a build of these parts.

    A bad print takes the paper; film that is spoiled before the sheet takes print and film; a
    sheet found bad at unmasking takes itself; any other bad mount takes print, face film and
    sheet; a bad backing takes all that is in the piece; a bad frame takes the profile alone.

    >>> standard_rules(["paper", "sheet", "face film"])[1]
    ('mount', 'film spoiled', ('face film', 'paper'))
    """
    had = {PAPER, *parts}

    def some(*names: Part) -> tuple[Part, ...]:
        return tuple(part for part in PARTS if part in names and part in had)

    rules: list[tuple[TryStage, str, tuple[Part, ...]]] = [("print", "", (PAPER,))]
    if had & {"sheet", "face film"}:
        rules += [
            ("mount", "film spoiled", some("face film", "paper")),
            ("mount", "bad sheet", some("sheet")),
            ("mount", "", some("sheet", "face film", "paper")),
        ]
    rules += [(stage, "", (PAPER,)) for stage in ("look", "sign", "look again")]
    if "profile" in had:
        rules += [("frame", "bad frame", some("profile"))]
    return rules
