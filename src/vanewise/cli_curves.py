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
    for make in (_margin, _load, _budget):
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
