"""Acts to sentences: what one booked, for the trail and for whoever did it."""

from collections.abc import Mapping, Sequence

from stockroom.core.books.chain import Act
from stockroom.core.books.draft import Changes, Touch
from stockroom.core.caliper import calibrated
from stockroom.core.records import (
    FINISHED,
    ActTime,
    Build,
    Card,
    Fault,
    Job,
    Lot,
    Material,
    Order,
    Patch,
    Piece,
    Place,
    ProbeRun,
    PutBy,
    Spell,
    SpellWord,
    Strip,
    Surface,
    Try,
    Unit,
    Used,
    WhiteWord,
    Winding,
)
from stockroom.core.wording import (
    amount_text,
    cut_text,
    dated,
    outcome_text,
    surface_text,
    unit_size_text,
)
from stockroom.text import listed
from stockroom.units import days_text, m_text, mm_text

_DONE_WORDS: dict[str, str] = {
    "received": "in",
    "used": "used",
    "cut waste": "cut waste",
    "lost": "lost",
    "discarded": "thrown away",
    "missing": "missing",
    "returned": "sent back",
    "found": "found",
}


def act_brief(act: Act) -> str:
    """Return an act in a few words: what, and of which unit, job, material or act.

    >>> act_brief(Act(seq=9, key="k", kind="lose", occurred_s=0, recorded_s=0, actor="",
    ...               payload={"unit": "10143", "amount": 5, "cause": "scratch"}))
    'lose 10143, scratch'
    """
    payload = act.payload
    words = [str(payload[key]) for key in _BRIEF_KEYS if payload.get(key)]
    if "act" in payload:
        words.append(f"act {payload['act']}")
    if act.kind == "order":
        words.append(f"{payload['code']}, {payload['count']} of {payload['material']}")
    elif not words and (payload.get("material") or payload.get("place")):
        words.append(str(payload.get("material") or payload.get("place")))
    listed = [*payload.get("units", ()), *payload.get("cards", ())]
    units = [item["code"] if isinstance(item, dict) else item for item in listed]
    if units:
        more = f" and {len(units) - 3} more" if len(units) > 3 else ""
        words.append(" ".join(units[:3]) + more)
    words += [payload["import"]["name"]] if isinstance(payload.get("import"), dict) else []
    if act.reason and act.reason not in words:
        words.append(act.reason)
    kind = payload["stage"] if act.kind == "try" else act.kind
    return f"{kind} {', '.join(words)}".strip()


_BRIEF_KEYS = ("unit", "lot", "put_by", "order", "job", "name", "result", "cause", "why")
"""What of a payload is worth a word on the trail."""


def act_text(
    seq: int,
    kind: str,
    changes: Changes,
    undoes: int | None = None,
    names: Mapping[str, str] | None = None,
) -> list[str]:
    """Return what an act booked, a line for each thing worth saying, the act's number first.

    Parameters
    ----------
    seq, kind, changes, undoes
        The act.
    names : mapping of str to str, optional
        Names of the places, materials and jobs that it mentions, by code.
    """
    names = names or {}
    tried = next((t.after for t in changes.touches if isinstance(t.after, Try)), None)
    what = kind
    if tried is not None and not undoes:
        what = f"{_named(tried.job, names)}: {tried.stage} {outcome_text(tried)}"
    lines = [f"Act {seq}: act {undoes} is taken back." if undoes else f"Act {seq}: {what}."]
    units = {
        touch.key: unit
        for touch in changes.touches
        if isinstance(unit := touch.after or touch.before, Unit)
    }
    took_more = any(item.kind in ("used", "lost", "cut waste") for item in changes.movements)
    for item in changes.movements:
        if item.kind == "moved" and not undoes:
            lines.append(_moved_text(item.unit, item.place_to, units.get(item.unit), names))
        elif item.unit in units and item.kind in _DONE_WORDS and not undoes:
            amount = amount_text(units[item.unit], item.qty)
            if item.kind == "found" and took_more:
                lines.append(f"{amount} more than the books held of {item.unit}: booked as found.")
            else:
                lines.append(f"{item.unit}: {amount} {_DONE_WORDS[item.kind]}.")
    cut_for = _cut_for(changes)
    lines += _cut_text(changes, cut_for, names)
    for touch in changes.touches:
        if not undoes:
            lines += _of_kind_text(kind, touch)
        if touch.key in cut_for and isinstance(touch.after, Unit):
            continue
        if not (isinstance(touch.after, PutBy) and touch.after.unit in cut_for):
            lines += _record_text(touch, names)
    return lines


def _cut_for(changes: Changes) -> dict[str, str]:
    """The jobs that sheets are put by for which one act cut and put by."""
    born = {
        touch.key
        for touch in changes.touches
        if isinstance(touch.after, Unit) and touch.before is None and touch.after.parent
    }
    return {
        touch.after.unit: touch.after.job
        for touch in changes.touches
        if isinstance(touch.after, PutBy) and touch.before is None and touch.after.unit in born
    }


def _cut_text(
    changes: Changes, cut_for: Mapping[str, str], names: Mapping[str, str]
) -> list[str]:  # fmt: skip
    """What was cut for jobs, alike pieces in one line."""
    alike: dict[str, list[str]] = {}
    for touch in changes.touches:
        if touch.key in cut_for and isinstance(touch.after, Unit):
            stands, job = _named(touch.after.place, names), _named(cut_for[touch.key], names)
            text = f"{unit_size_text(touch.after)} for {job}, in {stands}."
            alike.setdefault(text, []).append(touch.key)
    return [f"{listed(codes)}: {text}" for text, codes in alike.items()]


def patch_text(patch: Patch) -> str:
    """Return what was measured of a patch, its control beside it.

    >>> patch_text(Patch(code="1", unit="2", at_s=0, act=1, b_milli=-2_150, instrument="Spectro",
    ...                  measuring="M1", control="strip A", control_b_milli=-2_400))
    'b* -2.15 (M1, white backing), control strip A b* -2.40'
    """
    condition = "condition unknown" if patch.measuring == "unknown" else patch.measuring
    shown = _measured(patch.l_milli, patch.a_milli, patch.b_milli, patch.density_milli)
    under = f"{condition}, {patch.backing} backing"
    if patch.control is None:
        return f"{shown} ({under}), no control"
    control = _measured(
        patch.control_l_milli,
        patch.control_a_milli,
        patch.control_b_milli,
        patch.control_density_milli,
    )
    return f"{shown} ({under}), control {patch.control} {control}"


NO_CONTROL = "Nobody can tell paper from chemistry: measure a control of the same run."
UNKNOWN_CONDITION = "Condition unknown: it is compared only with others of unknown condition."


def patch_cautions(*, control: bool, measuring: str, lacking: Sequence[str] = ()) -> list[str]:
    """Return what must be said of how a patch was measured.

    Parameters
    ----------
    control : bool
        Whether a control was measured beside it.
    measuring : str
        Its measuring condition.
    lacking : sequence of str
        What was measured of the patch and not of its control.

    >>> patch_cautions(control=True, measuring="M1", lacking=["density"])
    ['The control has no density: by density nobody can tell paper from chemistry.']
    """
    said = [] if control else [NO_CONTROL]
    said += [
        f"The control has no {name}: by {name} nobody can tell paper from chemistry."
        for name in lacking
    ]
    return said + [UNKNOWN_CONDITION] * (measuring == "unknown")


def _measured(*milli: int | None) -> str:
    names = ("L*", "a*", "b*", "density")
    return " ".join(
        f"{name} {value / 1000:.{3 if name == 'density' else 2}f}"
        for name, value in zip(names, milli, strict=True)
        if value is not None
    )


def _moved_text(
    code: str, place_to: str | None, unit: Unit | None, names: Mapping[str, str]
) -> str:
    """Where a unit stands; a move entered late may not be its last one."""
    if unit is not None and unit.place != place_to:
        return (
            f"{code} stood in {_named(place_to, names)} from then on, until it was moved again; "
            f"now it stands in {_named(unit.place, names)}."
        )
    return f"{code} stands in {_named(place_to, names)}."


def _named(code: str | None, names: Mapping[str, str]) -> str:
    return names.get(code or "", code or "")


def _cut_to(order: Order) -> str:
    text = cut_text(order)
    return f", {text}" if text else ""


def _held_name(record: Unit | Lot) -> str:
    return f"Batch {record.number}" if isinstance(record, Lot) else record.code


def _of_kind_text(kind: str, touch: Touch) -> list[str]:
    """What an act of a kind did to a record, where the record alone does not tell it."""
    before, after = touch.before, touch.after
    match kind, after:
        case "open", Unit():
            if after.condition != "open":
                return [f"{after.code} was open then; it is back in its bag since."]
            return [f"{after.code} is open."]
        case "rebag", Unit():
            return [f"{after.code} is back in its bag, with the room's air in it."]
        case "count", Unit():
            off = f" ± {m_text(after.plus_minus_dmm)}" if after.plus_minus_dmm else ""
            same = isinstance(before, Unit) and before.amount == after.amount
            held = ", as the books held" if same else ""
            there = amount_text(after, after.qty) if after.amount else "nothing"
            return [f"{after.code}: {there}{off} really there{held}."]
        case "batch", Lot():
            told = [f"made on {dated(after.made_on)}"] if after.made_on else []
            told += [f"label date {dated(after.label_date)}"] if after.label_date else []
            return [f"Batch {', '.join([after.number, *told])}."]
        case "drop cards", Card():
            return [f"Card {after.code} is dropped; {after.unit} is not cut by it."]
        case "cut", Card():
            return [f"Card {after.code} is done."]
        case "let go", PutBy():
            return [f"Put by {after.code}, of {after.unit}, is free again."]
        case "close order", Order():
            return [f"Order {after.code} is {after.state}."]
        case "receive", Order():
            if after.state == "sent":
                return [f"Order {after.code}: {after.came} of {after.count} have come so far."]
            return [f"Order {after.code} has come."]
        case "confirm order" | "claim order" | "credit order", Order():
            return [_order_fact_text(kind, after)]
        case "change job", Job():
            return [f"Job {after.code}: {after.name}, changed."]
        case "retire build", Build():
            word = "is no longer offered" if after.retired else "is offered again"
            return [f"Build {after.name} {word}."]
        case "place", Place() if before is not None:
            return [f"{after.code}: {after.name}{_climate_text(after)}, changed."]
    return []


def _order_fact_text(kind: str, order: Order) -> str:
    """What became of an order."""
    if kind == "confirm order":
        due = f", expected {dated(order.expected_on)}" if order.expected_on else ""
        return f"Order {order.code} is confirmed{due}."
    if kind == "credit order":
        return f"Order {order.code}: {(order.credit_cents or 0) / 100:.2f} credited."
    told = f", told to the supplier on {dated(order.noticed_on)}" if order.noticed_on else ""
    by = f"; tell the supplier by {dated(order.notice_by)}" if order.notice_by else ""
    return f"Order {order.code}: {order.damaged} came damaged{told or by}."


def _piece_text(before: Piece | None, after: Piece) -> str:
    """Where a piece stands now."""
    number = f"Piece {after.number} ({after.code})"
    if after.edition is not None and before is None:
        number += f", number {after.edition} of the edition"
    if after.stage == FINISHED:
        return f"{number} is finished."
    back = before is not None and before.stage == FINISHED
    return f"{number} {'is open again' if back else 'goes on'}: next, {after.stage}."


def _climate_text(place: Place) -> str:
    """Set-point and limits of a place, as words to follow its name."""
    words = f", {place.place_kind}"
    if place.set_point_centi_c is not None:
        words += f", set to {place.set_point_centi_c / 100:g} °C"
    if place.low_centi_c is not None:
        words += f", not below {place.low_centi_c / 100:g} °C"
    if place.high_centi_c is not None:
        words += f", not above {place.high_centi_c / 100:g} °C"
    return words


def _winding_text(winding: Winding, names: Mapping[str, str]) -> str:
    """A roll of known length, and how thick one wrap of it lies."""
    wound = calibrated(winding.length_dmm / 10, winding.outer_dmm / 10, winding.core_dmm / 10)
    return (
        f"{_named(winding.material, names)}: {m_text(winding.length_dmm)} are "
        f"{mm_text(winding.outer_dmm)} across on a core of {mm_text(winding.core_dmm)}; "
        f"that is {wound.caliper_mm:.3f} mm a wrap."
    )


def _record_text(touch: Touch, names: Mapping[str, str]) -> list[str]:
    """What is worth saying of one record that an act touched."""
    before, after = touch.before, touch.after
    if isinstance(after, Unit) and before is None and after.parent is not None:
        stands = _named(after.place, names)
        return [f"{after.code}: {unit_size_text(after)} kept, in {stands}."]
    if isinstance(after, Unit | Lot) and isinstance(before, Unit | Lot | None):
        was = before.held if before is not None else None
        if after.held and after.held != was:
            return [f"{_held_name(after)} is on hold: {after.held}."]
        return [f"{_held_name(after)} may be used again."] if was and not after.held else []
    if isinstance(before, Job) and isinstance(after, Job) and before.state != after.state:
        return [f"{after.name} ({after.code}) is {after.state}."]
    if isinstance(after, Piece):
        return [_piece_text(before if isinstance(before, Piece) else None, after)]
    if isinstance(before, Used) and isinstance(after, Used) and before.fate != after.fate:
        fate = "lost" if after.fate == "lost" else "part of it again"
        return [f"The {after.part} of {after.unit} in it is {fate}."]
    if isinstance(before, Material) and isinstance(after, Material):
        below = ""
        if before.tell_below != after.tell_below:
            below = f" tell me below {after.tell_below or 'no number'};"
        return [f"{after.code}: {after.name},{below} changed."]
    if isinstance(after, Surface):
        bare = "off" in (after.mask_front, after.mask_back)
        return [f"{after.unit}: {surface_text(after, graded=not bare or after.grade != 'face')}."]
    if before is not None:
        return []
    match after:
        case Build():
            version = f", version {after.version}" if after.version > 1 else ""
            return [f"Build {after.code}: {after.name}{version}."]
        case Card():
            return [f"Card {after.code}: {after.unit} is to be cut."]
        case Strip():
            return [f"Strip of {after.unit}: {after.result}."]
        case Job():
            return [f"Job {after.code}: {after.name}, to be printed on {dated(after.print_on)}."]
        case PutBy():
            return [f"Put by {after.code}: of {after.unit}, for {_named(after.job, names)}."]
        case Order():
            due = f", expected {dated(after.expected_on)}" if after.expected_on else ""
            what = f"{after.count} x {_named(after.material, names)}{_cut_to(after)}"
            return [f"Order {after.code}: {what}{due}."]
        case Patch():
            return [f"White patch of {after.unit}: {patch_text(after)}."]
        case WhiteWord():
            return [f"{after.unit} may count on its white, up to {days_text(after.most_days)}."]
        case ProbeRun():
            return [
                f"A probe in {after.unit} tells {after.h_milli / 1000:.1f} W/(m² K); "
                "warm-up is reckoned with it from now on."
            ]
        case Winding():
            return [_winding_text(after, names)]
        case Fault():
            where = f"{m_text(after.from_dmm)} to {m_text(after.to_dmm)}"
            return [f"{after.unit}: {after.what}, {where} from the start of the roll."]
        case ActTime():
            return [f"The time of act {after.act} is corrected."]
        case Spell():
            warm = f"up to {after.highest_centi_c / 100:g} °C"
            return [f"{_named(after.place, names)}: {warm}; the worst is assumed between."]
        case SpellWord():
            return [f"{_named(after.place, names)}: {after.cause}."]
        case Place() | Material():
            return [f"{after.code}: {after.name}."]
    return []
