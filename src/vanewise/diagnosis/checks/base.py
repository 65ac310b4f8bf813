"""What a check is: minutes, access, outcomes, and what each mode would show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, Literal

import msgspec

from vanewise.provenance import JUDGEMENT, Source
from vanewise.work.types import Who

Row = tuple[float, ...]
Kind = Literal[
    "table",
    "cover test",
    "suction flow",
    "run-up",
    "sweep",
    "gauge across instrument",
    "filter drop",
    "capped sweep",
]

GAUGE_READ: Final = ("run-up", "sweep")
"""Kinds whose result is no check result but readings of the panel gauge as it is connected."""

ACCESS_MINUTES: Final[Mapping[str, float]] = MappingProxyType(
    {"cowl off": 15.0, "panel down": 20.0, "seat out": 10.0, "engine warm": 8.0, "pump off": 60.0}
)
"""Minutes to get at things, counted once for all checks that need them (judgement)."""

MOST_SHARED: Final = 0.12
"""Highest probability that any other mode, or a sound part, may give to an outcome that confirms (judgement)."""


class Outcome(msgspec.Struct, frozen=True):
    id: str
    words: str


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """One thing a person can look at, measure or try."""

    id: str
    code: str
    name: str
    minutes: float
    """Hands-on minutes after access."""
    access: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    who: Who = "mechanic"
    kind: Kind = "table"
    outcomes: tuple[Outcome, ...] = ()
    background: Row = ()
    """Probabilities of the outcomes with nothing wrong that would show here."""
    table: Mapping[str, tuple[Row, ...]] = {}
    """Mode -> one row, or two from mild to grave."""
    by_source: bool = False
    needs_part: str = ""
    """Kind of part the aircraft must have (``lamp`` for the annunciator)."""
    at_instrument: bool = False
    """True when it is done on one instrument at a time."""
    needs_running_pump: bool = False
    after_any_run: bool = False
    """True when it is done at the end of a run that is made anyway: no run of its own is charged."""
    confirms: Mapping[str, str] = {}
    """Outcome -> mode that is confirmed by it: seen directly (grade 3) or, for an act, proved both ways. Only outcomes
    that hardly any other mode gives (``MOST_SHARED``)."""
    or_confirms: Mapping[str, tuple[str, ...]] = {}
    """Outcome -> other modes that are the very thing seen: the likeliest of them all is the one confirmed."""
    brought_by: Mapping[str, tuple[str, ...]] = {}
    """Outcome -> other modes that bring about what it confirms: the thing seen is there, whatever began it."""
    act: bool = False
    """True when something is taken away or tried rather than looked at: done one way it shows no fault itself."""
    harmless: bool = True
    """May be undone and done again to prove a cause both ways."""
    preconditions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    method: str = ""
    elsewhere: bool = False
    """True when the part leaves the aircraft (a shop's days, not minutes)."""
    source: Source = JUDGEMENT


GYROS_SPIN: Final = (
    "Gyros go on spinning for about 15 minutes after the engine stops: do not move or tilt the aircraft.",
)
ENGINE_RUN: Final = (
    "Brakes on, chocks in, area round the propeller clear, helper at the controls, loose items away.",
    "If the reading passes the top of the band in the aircraft's manual: throttle back and stop the engine.",
    *GYROS_SPIN,
)
PROP_LIVE: Final = (
    "Magnetos off and grounded, key out, mixture cut off, chocks in. Treat the propeller as live: any turn may fire.",
)
PROP_TURNED: Final = (
    *PROP_LIVE,
    "Turn only as the aircraft's own manual permits; do not force.",
)
SUCTION_SOURCE: Final = (
    "Limit the source to 6 inHg. Clean air only.",
    "Gyros spin: do not move the aircraft until they have stopped, about 15 minutes.",
)
AIR_TEST: Final = (
    "Never blow into gyros, gauge or any port with one of them at the other end.",
    "Goggles on; relief valve fitted; not above 5 psi unless the hose data say so.",
)
HOT_PARTS: Final = ("Let pump and exhaust cool before reaching in.",)
AT_THE_ENGINE: Final = (*PROP_LIVE, *HOT_PARTS)
"""For every look and reach under the cowling."""


def held(
    check_id: str,
    code: str,
    name: str,
    minutes: float,
    table: Mapping[str, Sequence[Any]] | None = None,
    **rest: object,
) -> Check:
    """A check as written below, where a table row may be plain numbers."""
    rest["table"] = {mode: row if isinstance(row[0], list) else [row] for mode, row in (table or {}).items()}
    return msgspec.convert({"id": check_id, "code": code, "name": name, "minutes": minutes, **rest}, Check)


def outcomes(**words: str) -> list[dict[str, str]]:
    return [{"id": outcome, "words": text} for outcome, text in words.items()]
