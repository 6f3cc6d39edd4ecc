"""The command on warm spells: log one, name its cause, list them by what they cost."""

import typer

from stockroom.cli.base import KEY, answer, app, at_desk, on_day, say_aside, told
from stockroom.picking import picked


@app.command("excursion", short_help="Log a warm spell, name its cause, or list them all.")
def excursion(
    place: str = typer.Argument(None, help="The place; with none, all warm spells are listed."),
    last_right: str = typer.Option(None, help="When it was last seen right."),
    found: str = typer.Option("now", help="When it was found."),
    highest: str = typer.Option(None, help="Highest it showed, °C."),
    now: str = typer.Option(None, help="What it shows now, °C."),
    cause: str = typer.Option("", help="One word for the cause."),
    key: str = KEY,
) -> None:
    """Example:  stockroom excursion 'Cold store' --last-right 'yesterday 18:00' --highest 15.5

    Without --highest, the place's warm spells are listed; with --cause, the worst one without a
    word gets it. Between last right and found the worst shape is assumed, until a logger file
    tells better.
    """
    from stockroom.cli.shapes import SPELL, spell_lines
    from stockroom.core.model import Place
    from stockroom.desk.climate import spells
    from stockroom.desk.lookup import find
    from stockroom.desk.reckoning import reckoned
    from stockroom.errors import BadValueError
    from stockroom.times import instant_of as instant
    from stockroom.units import centi_c

    with at_desk() as desk:
        right_s = found_s = 0
        if highest and not place:
            raise BadValueError("Which place was warm?", try_="Name it, like: 'Cold store'.")
        if highest and place:
            if not last_right:
                raise BadValueError(
                    "When was it last seen right?", try_="Give --last-right like '18:00'."
                )
            right_s = instant(last_right, desk.now_s(), desk.zone)
            found_s = instant(found, desk.now_s(), desk.zone)
            told(
                spells.log_excursion(
                    desk,
                    place,
                    last_right_s=right_s,
                    found_s=found_s,
                    highest_centi_c=centi_c(highest),
                    now_centi_c=centi_c(now) if now else None,
                    cause=cause,
                    key=key,
                )
            )
        if cause and not highest:
            told(spells.name_worst_cause(desk, place, cause, on=on_day(desk), key=key))
            return
        with reckoned(desk, on_day(desk)) as reckoning:
            stood = find(reckoning.view, Place, place) if place else None
            code = stood.code if stood else None
            listed = spells.warm_spells(reckoning, place=code)
            zone = desk.zone

    if not highest:
        value = {"spells": [picked(spell, SPELL) for spell in listed]}
        lines = [line for spell in listed for line in spell_lines(spell, zone)]
        none = ["No warm spell: no place with an upper limit was above it."]
        answer("stockroom.spells/1", value, lines or none)
        return
    for spell in listed:
        if spell.from_s <= found_s and right_s <= spell.to_s:
            for line in spell_lines(spell, zone):
                say_aside(line)
    if stood is not None and stood.high_centi_c is None:
        say_aside(
            f"{stood.name} has no upper limit: what stands there ages by this spell, but it is not "
            f"listed. Set one: stockroom place change {stood.code} --high 8."
        )
