"""What answers look like: their JSON shapes and their lines for a person."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from stockroom import clock
from stockroom.core.act_wording import act_brief
from stockroom.core.climate.windows import Window, Worst
from stockroom.core.figures import Figure
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.records import Material, Order, Unit
from stockroom.core.sheets import lift_of
from stockroom.core.wording import (
    answer_text,
    because,
    cut_text,
    kept_back_text,
    lasting_text,
    lift_text,
    percent,
    sentence,
    unit_size_text,
)
from stockroom.desk.climate.pull_out import Outing, OutNow
from stockroom.desk.climate.spells import WarmSpell
from stockroom.desk.climate.views import MKT_ENERGIES_J_MOL, PlaceMeans
from stockroom.desk.climate.warming_text import (
    at_text,
    cautions,
    out_now_text,
    out_text,
    ready_text,
)
from stockroom.desk.condition.checking import Answers
from stockroom.desk.condition.opened import roll_state
from stockroom.desk.cutting.card_text import card_line, summary
from stockroom.desk.day import AtRisk, GoingOff, PrintLine, Return, Today
from stockroom.desk.orders.ordering import Reorder
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.stock.counting import TrailLine
from stockroom.desk.work.board import BoardLine
from stockroom.desk.work.text import far_text, material_need_lines
from stockroom.picking import picked
from stockroom.text import listed
from stockroom.units import count_of, day_text, days_text, size_text

# The shapes of the JSON, as `picked` reads them.
USABLE = """
    likely earliest latest runs_out unproven estimated=label.estimated printed=label.printed
    used_days left_days filled_share ahead days_out widened_by=spreads
    by_label_temperature=by_reading[](temp_c=0.temp_c why=0.why likely=1)
"""
ANSWERED = f"""
    unit=roll.unit.code batch=roll.lot.number place=roll.place.name
    remaining_dmm=roll.unit.remaining_dmm answer=verdict.answer
    needs_dmm=verdict.length.needs_dmm remakes=verdict.length.remakes
    assurance=verdict.length.assurance usable_by=roll.usable?({USABLE})
"""
SPELL = """
    place=place.name from_s to_s peak_c ongoing source cause
    days_lost=losses[](unit=unit.code days)
"""
OF_MATERIAL = "material=material.code name=material.name supplier=material.supplier"
REORDER = f"""
    {OF_MATERIAL} have on_hold=held past_their_day=past coming tell_below=material.tell_below
    order=quantity arrives_on
"""
LACKING = f"{OF_MATERIAL} job=job.code order_rolls order_by"
MOVES = """
    take_out[](unit=unit.code place=place.name by job=job.code out_s at_once safe_s ready_s
        stacked_ready_s beside)
    out_to_warm=out_now[](unit=unit.code place=place.name job=job?.code left_s=warming.left_s
        safe_s ready_s open=unit.is_open)
    put_back[](unit=unit.code place=place.name to=back_to.name life_days_a_day=life_a_day by_s)
"""
WORK = f"""
    on_the_bench=work[](job=job.code due_on=job.due_on pieces_at)
    cuts[](material=material.name pieces offcuts sheets to_buy) cards=cards[].card.code
    needed=needs[](material=material.name quantity short_on order_by)
    order=reorder[]({REORDER}) on_the_way=arrivals notices[](unit what why tone)
    going_off[](unit=unit.code material=material.name ends off)
"""
FIGURE = "group name value how inputs tone"
ACT = """
    act=act.seq kind=act.kind occurred_s recorded_s=act.recorded_s actor=act.actor
    reason=act.reason undone_by
"""


def answers_value(found: Answers, today: date) -> dict[str, Any]:
    """Return the JSON of an answer to "OK to print?"."""
    asked = (
        "job=job?.code name=job?.name width_dmm=wish.width_dmm height_dmm=wish.height_dmm "
        "count=wish.count series=wish.series on=wish.day material=material.name"
    )
    return {
        "day": today,
        "print": picked(found, asked),
        "answer": found.best.verdict.answer if found.best else "no",
        "rolls": [
            {
                **picked(item, ANSWERED),
                "reasons": [
                    picked(reason, "kind weight") | {"text": sentence(reason, today)}
                    for reason in item.verdict.reasons
                ],
            }
            for item in found.rolls
        ],
    }


def answers_lines(found: Answers, today: date, most: int = 3) -> Iterator[str]:
    """Yield the answer, its reasons, and the next best rolls."""
    wish = found.wish
    name = f"{found.job.name}, " if found.job else ""
    count = f"{wish.count} prints of " if wish.count > 1 else ""
    series = ", one emulsion" if wish.series else ""
    yield (
        f"{name}{count}{size_text(wish.width_dmm, wish.height_dmm)} on {found.material.name}, "
        f"{day_text(wish.day, today)}{series}"
    )
    if not found.rolls:
        yield "○ no  There is no roll of this paper in stock."
        return
    for place, item in enumerate(found.rolls[:most]):
        roll, verdict = item.roll, item.verdict
        if place == 1:
            yield "Other rolls:"
        yield (
            f"{answer_text(verdict.answer)}  roll {roll.unit.code}, batch {roll.lot.number}, "
            f"{roll.place.name}, {unit_size_text(roll.unit)}"
        )
        if place == 0:
            for reason in verdict.reasons:
                yield f"  {sentence(reason, today)}"
        else:
            yield f"  {because(verdict, today)}"


def spell_lines(spell: WarmSpell, zone: str) -> Iterator[str]:
    """Yield a warm spell and what it cost, worst roll first."""
    lasted = lasting_text(spell.to_s - spell.from_s)
    until = "still warm" if spell.ongoing else f"for {lasted}"
    assumed = ", worst shape assumed" if spell.source == "by hand" else ""
    cause = spell.cause or "cause not said"
    yield (
        f"{spell.place.name}, {clock.moment_text(spell.from_s, zone)}, {until}, "
        f"up to {spell.peak_c:.1f} °C{assumed} ({cause})"
    )
    for loss in spell.losses:
        yield f"  {loss.unit.code} lost {days_text(loss.days)} of life"
    if not spell.losses:
        yield "  No paper stood there."


def reorder_text(line: Reorder, today: date) -> str:
    """Return an order line as one sentence with its reasons."""
    amount = str(line.quantity)
    if not line.material.shape.counted:
        amount = count_of(line.quantity, line.material.shape.one)
    coming = f", {line.coming} on the way" if line.coming else ""
    kept_back = kept_back_text(line.held, line.past)
    held = f", {kept_back}" if kept_back else ""
    when = f"; ordered today it comes {day_text(line.arrives_on, today)}" if line.arrives_on else ""
    return (
        f"Order {amount} of {line.material.name}: {line.have} left{held}{coming}, "
        f"tell me below {line.material.tell_below}{when}."
    )


def coming_text(order: Order, materials: Mapping[str, Material], today: date) -> str:
    """Return an order on its way: how many of what, to what size it is cut, and its day."""
    size = f", {cut_text(order)}" if cut_text(order) else ""
    when = day_text(order.expected_on, today) if order.expected_on else "no day told"
    return f"{order.code}  {order.to_come} x {materials[order.material].name}{size}, {when}"


def print_text(line: PrintLine, today: date) -> Iterator[str]:
    """Yield a booked print, its roll and answer, and why."""
    job, best = line.job, line.answers.best
    count = f"{job.to_print} x " if job.to_print > 1 else ""
    yield (
        f"{day_text(job.print_on, today)}: {job.name}, {count}"
        f"{size_text(job.width_dmm, job.height_dmm)}"
    )
    if best is None:
        yield f"  ○ no  There is no roll of {line.material.name} in stock."
    else:
        roll = best.roll
        yield f"  {answer_text(best.verdict.answer)}  roll {roll.unit.code}, {roll.place.name}"
        yield f"  {because(best.verdict, today)}"
    if line.order_rolls:
        yield f"  {lacking_text(line, today)}"


def lacking_text(line: PrintLine, today: date, *, named: bool = False) -> str:
    """Return how much paper a booked print lacks, and by when to order it; `named` by its job."""
    what = f"{count_of(line.order_rolls, 'roll')} of {line.material.name}"
    best = line.answers.best
    printable = best is not None and best.verdict.answer != "no"
    job = line.job.name if named else "this print"
    remakes = "to cover likely remakes" + (f" of {job}" if named else "")
    why = remakes if printable else f"for {job}"
    if line.order_by is None:
        return f"Order {what} {why}."
    by = day_text(line.order_by, today)
    if line.order_by < today:
        return f"Order {what} {why} at once; to come in time it was due {by}."
    return f"Order {what} by {by}, {why}."


def today_lines(found: Today, zone: str) -> Iterator[str]:
    """Yield the morning: what to print, take out, put back, explain, order and use up."""
    day = found.day
    yield f"Today, {day_text(day, day).removesuffix(', today')}"
    if found.empty:
        yield "The books are empty. Begin with: stockroom place add --help."
        return
    for title, lines in _today_parts(found, day, zone):
        told = [f"  {line}" for line in lines]
        if told:
            yield from (title, *told)


def _today_parts(found: Today, day: date, zone: str) -> Iterator[tuple[str, Iterable[str]]]:
    """What is said under each heading of the morning."""
    yield "Prints booked", (text for line in found.prints for text in print_text(line, day))
    yield "On the bench", (_bench_text(line, day) for line in found.work)
    yield "Take out", (text for out in found.take_out for text in outing_lines(out, day, zone))
    yield "Out to warm", (out_now_line(out, found.now_s, zone) for out in found.out_now)
    yield "Put back", (_back_text(back, day, zone) for back in found.put_back)
    risks = (text for risk in found.spells for text in _risk_lines(risk, zone))
    yield "Warm spells that wait for a word", risks
    cuts = [f"{work.material.name}: {summary(work)}" for work in found.cuts]
    yield "To cut", [*cuts, *(f"Card {card_line(card)}" for card in found.cards)]
    needs = [next(material_need_lines(need, day)) for need in found.needs]
    yield "Order", [*needs, *(reorder_text(short, day) for short in found.reorder)]
    yield "On the way", (coming_text(order, found.materials, day) for order in found.arrivals)
    yield "To look at", (text for one in found.notices for text in (one.what, f"  {one.why}"))
    yield "Off or nearly off", (_off_text(item, day) for item in found.going_off)


def _bench_text(line: BoardLine, today: date) -> str:
    due = f"; due {day_text(line.job.due_on, today)}" if line.job.due_on else ""
    return f"{line.job.name} ({line.job.code}): {far_text(line)}{due}"


def _back_text(back: Return, today: date, zone: str) -> str:
    return (
        f"{back.unit.code} from {back.place.name} to {back.back_to.name} by "
        f"{at_text(back.by_s, zone, today)}: each day there costs "
        f"{days_text(back.life_a_day)} of life"
    )


def _risk_lines(risk: AtRisk, zone: str) -> Iterator[str]:
    yield from spell_lines(risk.spell, zone)
    jobs = ", ".join(job.name for job in risk.jobs)
    yield f"  Look at: {jobs}." if jobs else "  No job at risk."


def _off_text(item: GoingOff, today: date) -> str:
    word = "off since" if item.off else "usable until"
    return (
        f"{item.unit.code}  {item.material.name}, {unit_size_text(item.unit)}: "
        f"{word} {day_text(item.ends, today)}"
    )


def outing_lines(outing: Outing, today: date, zone: str) -> Iterator[str]:
    """Yield a roll to take out: when, for what, when it may be opened and printed, cautions."""
    when = out_text(outing, zone, today)
    by = when if outing.at_once else f"by {when}"
    came_from = f"{outing.unit.code} from {outing.place.name}"
    yield f"{came_from} {by}, shut in its bag, for {outing.job.name}"
    ready = ready_text(outing, zone)
    if ready:
        yield f"  {ready}{'; it stays shut till then' if outing.safe_s is not None else ''}"
    yield from (f"  {text}" for text in cautions(outing, zone))


def out_now_line(out: OutNow, now_s: int, zone: str) -> str:
    """Return a roll that is out to warm: where, for what, until when it stays shut."""
    job = f", for {out.job.name}" if out.job else ""
    text = out_now_text(out, now_s, zone)
    return f"{out.unit.code} is out to warm in {out.place.name}{job}: {text}"


def today_value(found: Today) -> dict[str, Any]:
    """Return the JSON of the morning."""
    return {
        "day": found.day,
        "prints": [
            answers_value(line.answers, found.day) | picked(line, "order_rolls order_by")
            for line in found.prints
        ],
        **picked(found, MOVES),
        "spells": [
            picked(risk.spell, SPELL) | picked(risk, "jobs_at_risk=jobs[].code")
            for risk in found.spells
        ],
        **picked(found, WORK),
    }


def unit_value(
    reckoning: Reckoning,
    unit: Unit,
    usable: UsableBy | None,
    trail: Sequence[TrailLine],
    figures: Sequence[Figure],
) -> dict[str, Any]:
    """Return the JSON of one unit."""
    return {
        "unit": unit,
        "material": reckoning.material_of(unit).name,
        "batch": reckoning.lot_of(unit),
        "place": reckoning.places[unit.place].name,
        "usable_by": picked(usable, USABLE) if usable else None,
        "figures": [picked(figure, FIGURE) for figure in figures],
        "stays": reckoning.stays_of(unit),
        "acts": [picked(line, ACT) for line in trail],
    }


def figure_lines(figures: Sequence[Figure], *, inputs: bool) -> Iterator[str]:
    """Yield figures under their headings; with `inputs`, how each is made and from what."""
    group = ""
    for figure in figures:
        if figure.group != group:
            group = figure.group
            yield group
        yield f"  {figure.name}: {figure.value}"
        if inputs:
            yield f"    {figure.how}"
            for item in figure.inputs:
                source = f" [{item.source}]" if item.source else ""
                yield f"    - {item.name}: {item.value}{source}"


def unit_lines(
    reckoning: Reckoning,
    unit: Unit,
    trail: Sequence[TrailLine],
    figures: Sequence[Figure],
    *,
    inputs: bool,
) -> Iterator[str]:
    """Yield one unit: what it is, where, its figures, and what happened to it."""
    lot = reckoning.lot_of(unit)
    yield f"{unit.code}  {reckoning.material_of(unit).name}, batch {lot.number}"
    yield (
        f"{unit_size_text(unit)}, {roll_state(reckoning, unit)}, {unit.state}, "
        f"{reckoning.places[unit.place].name}"
    )
    if unit.held or lot.held:
        yield f"On hold: {unit.held or lot.held}"
    if unit.shape.flat:
        lift = lift_of(reckoning.material_of(unit), unit.width_dmm, unit.length_dmm)
        if lift is not None:
            yield f"Each {lift_text(lift)}"
    yield from figure_lines(figures, inputs=inputs)
    for stay in reckoning.stays_of(unit):
        start = clock.moment_text(stay.from_s, reckoning.zone)
        end = clock.moment_text(stay.to_s, reckoning.zone) if stay.to_s else "now"
        yield f"  {start} to {end}  {reckoning.places[stay.place].name}"
    yield from trail_lines(trail, reckoning.zone)


def trail_lines(trail: Sequence[TrailLine], zone: str) -> Iterator[str]:
    """Yield acts, newest first."""
    for line in trail:
        act = line.act
        undone = f"  (taken back by act {line.undone_by})" if line.undone_by else ""
        late = "" if line.occurred_s == act.recorded_s else "  (entered later)"
        along = f"  (with {listed([str(seq) for seq in line.together])})" if line.together else ""
        yield (
            f"act {act.seq}  {clock.moment_text(line.occurred_s, zone)}  {act.actor}  "
            f"{act_brief(act)}{along}{late}{undone}"
        )


def means_lines(found: PlaceMeans) -> Iterator[str]:
    """Yield each window with its means, and the worst stretches in it."""
    theirs, ours = (f"{energy / 1000:g}" for energy in MKT_ENERGIES_J_MOL)
    yield (
        f"{found.place.name}: mean kinetic temperature (MKT) at {theirs} kJ/mol (USP <1160>) and "
        f"{ours} kJ/mol (ours, an estimate)"
    )
    for window in found.windows:
        yield from (f"  {text}" for text in _window_lines(window, found.zone))


def _window_lines(window: Window, zone: str) -> Iterator[str]:
    begins, ends = clock.moment_text(window.from_s, zone), clock.moment_text(window.to_s, zone)
    if not window.mkt_c:
        yield f"{window.name}, {begins} to {ends}: nothing logged"
        return
    theirs, ours = window.mkt_c
    yield (
        f"{window.name}, {begins} to {ends}: MKT {theirs:.2f} °C and {ours:.2f} °C, "
        f"mean {window.mean_c:.2f} °C, {window.low_c:.1f} to {window.high_c:.1f} °C, "
        f"{percent(window.logged_share)} logged"
    )
    for word, worst in (("24 h", window.worst_day), ("30 days", window.worst_month)):
        if worst is not None:
            yield f"  {_worst_text(word, worst, zone)}"


def _worst_text(word: str, worst: Worst, zone: str) -> str:
    return f"worst {word}: {worst.mkt_c[0]:.2f} °C, from {clock.moment_text(worst.from_s, zone)}"
