"""Commands on one kept aircraft: readings, lists, lives, cards and histories. Put on the command line by cli.py."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

Show = Callable[[Any, bool], None]
_FIGURES = {
    "gauge": "What the panel gauge shows, in inHg unless you write another unit.",
    "rpm": "Engine speed it was read at.",
    "lamp-out": "Engine speed at which the lamp went out.",
    "tach": "Tach time.",
    "hour-meter": "Hour meter.",
    "erection": "Minutes until the attitude indicator stood.",
    "wander": "How far the needle wanders at one speed, in inHg.",
    "drift": "Heading drift over 15 minutes, in degrees.",
    "altitude": "Pressure altitude, in feet.",
    "temperature": "Outside air, degrees Celsius.",
}
_home = click.argument("home", type=click.Path(path_type=Path))
_aircraft = click.argument("aircraft")
_json = click.option("--json", "as_json", is_flag=True, help="Answer as JSON (shape in docs/reference).")
_author = click.option("--author", required=True, metavar="NAME", help="Who writes this.")
_page = click.option("--page", type=click.Choice(["a4", "letter"]), default="letter", show_default=True)


def put_on(main: click.Group, show: Show) -> None:
    """Add these commands to the command line; ``show`` prints an answer."""
    for make in (_run_up, _readings, _read_table, _put_off, _calendar, _card, _lives, _components, _export, _import):
        main.add_command(make(show))


def _keep_files(answer: Any, folder: Path) -> None:
    from vanewise.jobs import files

    files.write_all(folder, answer.files)


def _run_up(show: Show) -> click.Command:
    @click.command("run-up")
    @_home
    @_aircraft
    @click.option("--date", default="", metavar="DAY", help="Year-month-day; today when left out.")
    @click.option("--sure", is_flag=True, help="It is right as written, though it looks odd.")
    @_author
    @_json
    def run_up(home: Path, aircraft: str, date: str, sure: bool, author: str, as_json: bool, **figures: str) -> None:
        """Keep a reading at run-up. The wrong meter, an odd figure and a gap are told before anything is kept."""
        from vanewise.jobs import desk, files

        day = date or files.today().isoformat()
        show(desk.note_run_up(home, aircraft, figures, date=day, sure=sure, author=author), as_json)

    for name, words in _FIGURES.items():
        run_up.params.append(click.Option([f"--{name}"], default="", metavar="FIGURE", help=words))
    return run_up


def _readings(show: Show) -> click.Command:
    @click.command("readings")
    @_home
    @_aircraft
    @_json
    def readings(home: Path, aircraft: str, as_json: bool) -> None:
        """Say what the readings over time say. Each figure with its baseline, and whether it has changed."""
        from vanewise.jobs import desk, files

        show(desk.readings(home, aircraft, today=files.today()), as_json)

    return readings


def _read_table(show: Show) -> click.Command:
    @click.command("read-table")
    @_home
    @_aircraft
    @click.argument("table", type=click.Path(path_type=Path))
    @click.option("--column", "columns", multiple=True, metavar="HEADING=FIELD:UNIT", help="What a column holds.")
    @click.option("--dates", default="2025-03-31", show_default=True, metavar="STYLE", help="How dates are written.")
    @click.option("--separator", default=",", show_default=True, help='Between columns; "tab" for a tabulator.')
    @click.option("--decimal", default=".", show_default=True, type=click.Choice([".", ","]))
    @click.option("--rpm", default="", metavar="FIGURE", help="Engine speed, where no column holds it.")
    @_author
    @_json
    def read_table(home: Path, aircraft: str, table: Path, author: str, as_json: bool, **how: Any) -> None:
        """Keep the readings of a CSV table. How its columns are mapped is kept for next time."""
        from vanewise.jobs import desk, files

        show(desk.read_table(home, aircraft, files.read_text(table), author=author, **how), as_json)

    return read_table


def _put_off(show: Show) -> click.Command:
    @click.command("put-off")
    @_home
    @_aircraft
    @click.argument("item")
    @click.option("--name", required=True, metavar="NAME", help="Who decides.")
    @click.option("--reason", required=True, metavar="WORDS", help="Why.")
    @click.option("--until", default="", metavar="DAY", help="Year-month-day.")
    @click.option("--until-hours", default="", metavar="H", help="Or until this tach time.")
    @_json
    def put_off(home: Path, aircraft: str, item: str, as_json: bool, **said: str) -> None:
        """Put an item of the due list off. A decision with a name and a reason; what is mandatory cannot be."""
        from vanewise.jobs import desk, files

        show(desk.put_off(home, aircraft, item, today=files.today(), **said), as_json)

    return put_off


def _calendar(show: Show) -> click.Command:
    @click.command("calendar")
    @_home
    @_aircraft
    @click.argument("file", type=click.Path(path_type=Path))
    @_json
    def calendar(home: Path, aircraft: str, file: Path, as_json: bool) -> None:
        """Write the due list as an iCalendar FILE. Days worked out from hours are marked tentative."""
        from vanewise.jobs import desk, files

        answer = desk.calendar(home, aircraft, file.name, today=files.today())
        _keep_files(answer, file.parent)
        show(answer, as_json)

    return calendar


def _card(show: Show) -> click.Command:
    @click.command("card")
    @_home
    @_aircraft
    @click.argument("card", type=click.Choice(["walk-round", "standby-test", "after-storage"]))
    @click.argument("file", type=click.Path(path_type=Path))
    @_page
    @_json
    def print_card(home: Path, aircraft: str, card: str, file: Path, page: str, as_json: bool) -> None:
        """Write a CARD of looks and tests as a PDF FILE. Customary ones; the aircraft's own manual goes first."""
        from vanewise.jobs import desk, files

        answer = desk.card(home, aircraft, card, file.name, today=files.today(), page=page)
        _keep_files(answer, file.parent)
        show(answer, as_json)

    return print_card


def _lives(show: Show) -> click.Command:
    @click.command("lives")
    @_home
    @_aircraft
    @click.argument("kind", type=click.Choice(["pump", "coupling", "filter", "gyro"]))
    @_json
    def lives(home: Path, aircraft: str, kind: str, as_json: bool) -> None:
        """Say how long parts of a KIND last. From the lives kept in HOME, and when replacing pays."""
        from vanewise.jobs import desk

        show(desk.lives(home, aircraft, kind), as_json)

    return lives


def _components(show: Show) -> click.Command:
    @click.command("components")
    @_home
    @_aircraft
    @_json
    def components(home: Path, aircraft: str, as_json: bool) -> None:
        """Show the card of every component with a serial number. Its time in every aircraft of HOME."""
        from vanewise.jobs import desk

        show(desk.components(home, aircraft), as_json)

    return components


def _export(show: Show) -> click.Command:
    @click.command("export")
    @_home
    @_aircraft
    @click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR")
    @_page
    @_json
    def export(home: Path, aircraft: str, out: Path, page: str, as_json: bool) -> None:
        """Write the whole history of an aircraft. As JSON and CSV, which can be imported again, and as PDF."""
        from vanewise.jobs import desk, files

        files.refuse_blocked(out)
        answer = desk.export(home, aircraft, today=files.today(), page=page)
        _keep_files(answer, out)
        show(answer, as_json)

    return export


def _import(show: Show) -> click.Command:
    @click.command("import")
    @_home
    @click.argument("history", type=click.Path(path_type=Path))
    @_json
    def import_history(home: Path, history: Path, as_json: bool) -> None:
        """Take an exported HISTORY into HOME. Its chain is checked first; what is there already is not changed."""
        from vanewise.jobs import desk, files

        show(desk.take_in(home, files.read_text(history), str(history)), as_json)

    return import_history
