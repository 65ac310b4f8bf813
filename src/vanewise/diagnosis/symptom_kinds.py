"""What a symptom is, and what an event is: types without entries."""

from __future__ import annotations

from typing import Literal

import msgspec

Condition = Literal["idle", "taxi", "fast taxi", "run-up", "cruise"]


class Drive(msgspec.Struct, frozen=True, kw_only=True):
    """Probability of noticing from the drive of an instrument: a logistic step down as the drop rises, or up where too
    much drive does it."""

    threshold_inhg: float
    width_inhg: float
    at: tuple[Condition, ...]
    """Conditions whose drops are averaged."""
    top: float = 0.85
    """Probability when the instrument gets next to nothing, or far too much."""


class GaugeSign(msgspec.Struct, frozen=True, kw_only=True):
    """Probability of noticing from what the panel gauge or lamp shows: against the band on its face, the lamp's trip,
    or what it used to show there (``fallen``, ``risen``, ``lamp late``)."""

    side: Literal["low", "high", "zero", "lamp", "lamp late", "fallen", "risen"]
    at: Condition
    width_inhg: float = 0.08

    @property
    def of_lamp(self) -> bool:
        return self.side.startswith("lamp")

    @property
    def against_earlier(self) -> bool:
        """Whether a person compares with what this aircraft used to show."""
        return self.side in ("fallen", "risen", "lamp late")


class Symptom(msgspec.Struct, frozen=True, kw_only=True):
    """Something a person notices, or looks for and does not find."""

    id: str
    group: Literal["attitude", "heading", "power", "engine bay", "filter", "autopilot"]
    words: str
    base: float
    """Probability that it is noticed with nothing wrong that would cause it."""
    instrument: str = ""
    """Kind of the instrument it is about, when it is about one."""
    drive: Drive | None = None
    over: Drive | None = None
    """The same of too much drive: a rotor that turns faster than it is made for is heard and shakes (judgement)."""
    gauge: GaugeSign | None = None
    after_stop: float = 0.0
    """Probability within ten minutes of the pump stopping (the steady model says nothing there)."""
    of_what_stays: float | None = None
    """Probability that it is said under a mode that stays (see the modes), whatever else there is: for what tells of a
    supply that was right again. None: it tells of no such thing."""
    manners: tuple[str, ...] = ()
    """Ways it may show, of which the person names one. Kept and shown; no likelihood hangs on them, because nothing
    published says how often which way comes from which fault."""
    direct: bool = False
    """True for something seen on a part or tried (soot, oil, a lamp lit, one source alone), not judged in flight: no
    impression that the next person might not share. Impressions of one person hang together (see the scores)."""


class EventWord(msgspec.Struct, frozen=True, kw_only=True):
    """Something done to the aircraft or that happened to it. The factors stand with the modes (``contexts``)."""

    id: str
    words: str
    fades_h: float | None = None
    """Hours after which it has no weight left; None: it does not fade."""
    changes: tuple[str, ...] = ()
    """What of the aircraft differs from before it: ``pump``, ``setting``, ``gauge``."""
    caution: str = ""
