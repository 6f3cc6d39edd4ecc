"""Commands that keep the books: labels, day sheet, calendar, backup, restore, check, where."""

from collections.abc import Iterator
from pathlib import Path

import typer

from stockroom.cli.base import answer, app, at_desk, given, on_day, say_text, settings
from stockroom.errors import HEALING
from stockroom.units import count_of
from stockroom.writing import see_free, write_whole


@app.command("labels", short_help="A sheet of labels with QR codes.")
def labels(
    to: Path = typer.Argument(..., help="The PDF to write; - for plain text."),
    codes: list[str] = typer.Option([], "--code", help="Only these units and places."),
    act: int = typer.Option(None, "--act", help="Only what this act brought, as after a cut."),
    start: int = typer.Option(0, help="Labels already used on the first sheet."),
    roll: str = typer.Option(
        None, "--roll", help="One label a page, of this size, like 62x29: for a label printer."
    ),
) -> None:
    """Example:  stockroom labels labels.pdf --code 10143 --code 10020"""
    from stockroom.desk.papers.printed import brought_by, label_sheet, label_text
    from stockroom.units import size_dmm

    if str(to) != "-":
        see_free(to)
    with at_desk() as desk:
        codes = [*codes, *(brought_by(desk, act) if act is not None else ())]
        if str(to) == "-":
            text = label_text(desk, codes)
            answer("stockroom.labels/1", {"text": text}, text.splitlines())
            return
        each = size_dmm(roll) if roll else None
        data, count = label_sheet(desk, codes, start=start, each_dmm=each)
    write_whole(to, data)
    answer("stockroom.written/1", {"path": to, "labels": count}, [f"{count} labels in {to}"])


@app.command("day-sheet", short_help="A printed day sheet to tick.")
def day_sheet(to: Path = typer.Argument(..., help="The PDF to write.")) -> None:
    """Example:  stockroom day-sheet today.pdf"""
    from stockroom.desk.papers.printed import day_sheet as make

    see_free(to)
    with at_desk() as desk:
        data = make(desk, on_day(desk))
    write_whole(to, data)
    answer("stockroom.written/1", {"path": to}, [f"Day sheet in {to}"])


@app.command("calendar", short_help="What comes out, goes back, is ordered: a calendar file.")
def calendar(
    to: str = typer.Argument("-", help="The .ics file to write; - for standard output."),
    days: int = typer.Option(30, help="How many days ahead."),
    replace: bool = typer.Option(False, "--replace", help="Write over a file that is there."),
) -> None:
    """Example:  stockroom calendar studio.ics --days 14

    Rolls to take out (with a reminder) and to put back, days to order by, arrivals expected. The
    entries keep their identity, so a calendar that takes the file in anew moves them.
    """
    from stockroom.desk.papers.printed import calendar_file

    if to != "-":
        see_free(Path(to), replace=replace)
    with at_desk() as desk:
        data = calendar_file(desk, days, on_day(desk))
    if to == "-":
        say_text(data.decode())
        return
    write_whole(Path(to), data, replace=replace)
    count = data.count(b"BEGIN:VEVENT")
    answer(
        "stockroom.written/1",
        {"path": to, "entries": count},
        [f"{count_of(count, 'entry', 'entries')} in {to}"],
    )


@app.command("backup", short_help="Write a whole backup.")
def backup(to: Path) -> None:
    """Example:  stockroom backup studio-2026-03-03.backup"""
    from stockroom.desk import keeping

    with at_desk(whole=False) as desk:
        made = keeping.make_backup(desk, to)

    def lines() -> Iterator[str]:
        yield f"{made.acts} acts, {made.files} files in {to}; last hash {made.head}"
        if made.left_out:
            yield f"{made.left_out} customers' references were not as written, and are not in it."
        if made.some_missing:
            yield "Some customers' references are missing from the store; the last backup has them."

    answer("stockroom.backup-made/1", made, lines())


@app.command("restore", short_help="Make a new store from a backup.")
def restore(backup: Path) -> None:
    """Example:  stockroom restore studio-2026-03-03.backup --store new.stockroom"""
    from stockroom.desk import keeping
    from stockroom.settings import in_force

    store = in_force({"store": given.store})["store"].value
    made = keeping.restore_backup(backup, store)
    where = keeping.where_is(store)
    answer(
        "stockroom.restored/1",
        made,
        [f"{made.acts} acts restored into {where}; last hash {made.head}"],
    )


@app.command("check", short_help="Check the books whole, or a backup.")
def check(
    backup: Path = typer.Argument(None, help="A backup to check instead, without any store."),
) -> None:
    """Example:  stockroom check studio-2026-03-03.backup

    Checks every act against its hash and folds the books anew; exit code 3 where they differ. A
    backup is restored into memory to be checked so; nothing is written.
    """
    from stockroom.desk import keeping

    if backup is not None:
        report = keeping.check_backup(backup)
    else:
        with at_desk(whole=False) as desk:
            report = keeping.check(desk)

    def lines() -> Iterator[str]:
        yield (
            f"{report.acts} acts, {report.movements} movements, {report.records} records, "
            f"{report.blocks} blocks of readings; last hash {report.head}"
        )
        for fault in report.faults:
            yield f"  {fault}"
        better = "Faults were found; keep another backup." if backup is not None else HEALING
        yield better if report.faults else "All of it holds."

    answer("stockroom.check/1", report, lines())
    if report.faults:
        raise typer.Exit(3)


@app.command("where", short_help="Settings in force and where they come from.")
def where() -> None:
    """Example:  stockroom where

    Shows the settings in force and where each comes from.
    """
    from stockroom.desk import keeping
    from stockroom.settings import settings_file

    force = settings()
    shown = {name: item.value for name, item in force.items()}
    shown["store"] = keeping.where_is(force["store"].value)

    def lines() -> Iterator[str]:
        for name, item in force.items():
            yield f"{name}: {shown[name]}  ({item.source})"
        yield f"settings file: {settings_file()}"
        yield "Where two differ, a flag comes before the environment, that before the file."

    value = {
        "settings": [
            {"name": name, "value": shown[name], "source": item.source}
            for name, item in force.items()
        ],
        "settings_file": settings_file(),
    }
    answer("stockroom.where/1", value, lines())
