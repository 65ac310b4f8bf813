"""Commands for curves people use, another layout and a wrong hose. Put on the command line by cli.py."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

Show = Callable[[Any, bool], None]
_file = click.argument("file", type=click.Path(path_type=Path))
_json = click.option("--json", "as_json", is_flag=True, help="Answer as JSON (shape in docs/reference).")
_altitude = click.option(
    "--altitude", type=float, metavar="FT", help="Pressure altitude in feet; the home field's when left out."
)
_states = click.option(
    "--state", "states", multiple=True, metavar="PART.KEY=VALUE", help="How a part is now, e.g. pump.slip=3."
)


def put_on(main: click.Group, show: Show) -> None:
    """Add these commands to the command line; ``show`` prints an answer."""
    for make in (_margin, _load, _budget, _with_standby, _swapped, _reads_like):
        main.add_command(make(show))


def _read(file: Path) -> tuple[str, str]:
    from vanewise.jobs import files

    return files.read_text(file), str(file)


def _margin(show: Show) -> click.Command:
    @click.command("margin")
    @_file
    @click.option(
        "--wear", type=float, default=1.0, metavar="TIMES", help="Leakage inside the pump against a sound one."
    )
    @click.option("--filter", "loading", type=float, default=1.0, metavar="TIMES", help="Filter against a new one.")
    @click.option("--needs", multiple=True, metavar="GYRO=INHG", help="What an instrument needs, by its own manual.")
    @click.option("--warmer", type=float, default=0.0, metavar="C", help="How much warmer than a standard day.")
    @_states
    @click.option("--seed", type=int, default=0, show_default=True, help="Same seed, same answer.")
    @_json
    def margin(
        file: Path,
        wear: float,
        loading: float,
        needs: tuple[str, ...],
        warmer: float,
        states: tuple[str, ...],
        seed: int,
        as_json: bool,
    ) -> None:
        """Map where each instrument still gets enough. Engine speed against altitude, with the band."""
        from vanewise.jobs import curves

        answer = curves.margin(
            *_read(file), wear=wear, loading=loading, needed=needs, states=states, warmer_c=warmer, seed=seed
        )
        show(answer, as_json)

    return margin


def _load(show: Show) -> click.Command:
    @click.command("load")
    @_file
    @click.option("--pump", default="", metavar="ID", help="Which pump, where there are two.")
    @_altitude
    @_states
    @_json
    def load(file: Path, pump: str, altitude: float | None, states: tuple[str, ...], as_json: bool) -> None:
        """Say what the pump works against, and what raises it. The panel gauge does not show it."""
        from vanewise.jobs import curves

        show(curves.load(*_read(file), pump=pump, states=states, altitude_ft=altitude), as_json)

    return load


def _budget(show: Show) -> click.Command:
    @click.command("budget")
    @_file
    @click.option("--rpm", type=float, metavar="RPM", help="Engine speed; cruise when left out.")
    @_altitude
    @_states
    @_json
    def budget(file: Path, rpm: float | None, altitude: float | None, states: tuple[str, ...], as_json: bool) -> None:
        """Say where the pump's air goes. Instruments, regulator, leaks, slip; adds up to its intake."""
        from vanewise.jobs import curves

        show(curves.budget(*_read(file), rpm=rpm, altitude_ft=altitude, states=states), as_json)

    return budget


def _with_standby(show: Show) -> click.Command:
    @click.command("with-standby")
    @_file
    @click.argument("kind", type=click.Choice(["pump", "intake"]))
    @click.option("--rpm", help="Engine speeds, e.g. 700,1000,1200.")
    @_altitude
    @_json
    def with_standby(file: Path, kind: str, rpm: str | None, altitude: float | None, as_json: bool) -> None:
        """What if a standby source were added? A pump on a motor, or suction from the engine's intake."""
        from vanewise.jobs import changing

        name = {"pump": "standby pump", "intake": "intake source"}[kind]
        show(changing.with_standby(*_read(file), name, rpm=rpm, altitude_ft=altitude), as_json)

    return with_standby


def _swapped(show: Show) -> click.Command:
    @click.command("swapped")
    @_file
    @click.argument("one", metavar="PORT")
    @click.argument("other", metavar="PORT")
    @_json
    def swapped(file: Path, one: str, other: str, as_json: bool) -> None:
        """What if two hose ends were exchanged? Named by the ports they belong on, e.g. attitude.inlet."""
        from vanewise.jobs import miswiring

        show(miswiring.swap_from_file(*_read(file), one, other), as_json)

    return swapped


def _reads_like(show: Show) -> click.Command:
    @click.command("reads-like")
    @_file
    @click.argument("readings", nargs=-1, required=True, metavar="RPM=INHG...")
    @_json
    def reads_like(file: Path, readings: tuple[str, ...], as_json: bool) -> None:
        """Say which exchange of two hose ends would read like this. For after work on the lines."""
        from vanewise.jobs import miswiring

        show(miswiring.read_like_from_file(*_read(file), miswiring.readings_of(readings)), as_json)

    return reads_like
