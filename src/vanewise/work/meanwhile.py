"""The sheet for the meantime: what is lost, what has to be asked before it flies again, who decides.

"Can I fly on Saturday?" is every owner's first question. This answers with the questions that decide it, never with a
verdict, and with drafts: of a placard, and after a loss in flight of a report for the voluntary safety and difficulty
systems, from what is held already.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Final

import msgspec

from vanewise import chances
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.fitted import fitted_besides
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.confirming import how
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.safety import IN_DOUBT, MAY_BLOW
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import Causes, Evidence, Reading, Remark
from vanewise.diagnosis.words import NO_FINDING
from vanewise.quantities import centihours_text, inhg, shown
from vanewise.wording import capital
from vanewise.work.cautions import DEFERENCE, texts

_DEAD_AT: Final = 0.5
_IN_DOUBT_AT: Final = 0.1
_WORTH_NAMING: Final = 0.05
_LOSS_SIGNS: Final = frozenset({"stopped_suddenly", "gauge_zero", "lamp_on", "ai_tumbles"})
_M_PER_FT: Final = 0.3048
_PLACARDED: Final = {"one instrument": "AIR-DRIVEN INSTRUMENT", "indication": "GYRO AIR GAUGE OR LAMP"}
"""What a placard calls it, by how far the answer goes; the whole supply where it goes no further."""
_SCHEME: Final = (
    "Questions after the operating rules' scheme for inoperative equipment, from memory: read the rule that applies "
    "where the aircraft is registered and flies."
)


class Questions(msgspec.Struct, frozen=True, kw_only=True):
    """What somebody has to answer before one kind of flight."""

    flight: str
    asks: tuple[str, ...]


class Meanwhile(msgspec.Struct, frozen=True, kw_only=True):
    """One page until the repair: questions and drafts, no verdict and no approval."""

    aircraft: str
    dated: datetime.date
    finding: str
    """How far the answer goes, in words."""
    lost: tuple[str, ...]
    pilot: tuple[str, ...]
    """What a pilot must know before anything else."""
    questions: tuple[Questions, ...]
    placard: tuple[str, ...]
    """Draft, line by line, for the person who may placard."""
    autopilot: tuple[str, ...]
    pump: tuple[str, ...]
    elsewhere: tuple[str, ...]
    """A loaner part, a flight to the repair: what to ask."""
    decides: tuple[str, ...]
    sources: tuple[str, ...]
    draft: str = "Questions and drafts. It permits nothing and signs nothing."


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """One heading of a report draft: what is held, or what the person has to add."""

    title: str
    held: tuple[str, ...] = ()
    to_add: tuple[str, ...] = ()


class LossReport(msgspec.Struct, frozen=True, kw_only=True):
    """Draft after a loss in flight, for the voluntary safety and difficulty systems. Nothing is sent anywhere."""

    aircraft: str
    dated: datetime.date
    sections: tuple[Told, ...]
    before_sending: tuple[str, ...]


# ---- the sheet -----------------------------------------------------------------------------------------------------


def meanwhile(
    description: AircraftDescription, causes: Causes, evidence: Evidence, *, dated: datetime.date
) -> Meanwhile:
    """The sheet for a report as it is answered today."""
    dead = causes.levels.get("supply dead", 0.0)
    high = causes.levels.get("supply high", 0.0)
    return Meanwhile(
        aircraft=description.name,
        dated=dated,
        finding=_finding(causes),
        lost=_lost(description, causes, dead),
        pilot=_pilot(dead, high),
        questions=_questions(description),
        placard=_placard(description, causes, dead),
        autopilot=_autopilot(description),
        pump=_pump(causes, dead),
        elsewhere=_elsewhere(causes),
        decides=_decides(),
        sources=(
            _SCHEME,
            "Placard, autopilot and pump lines: common practice, no source.",
        ),
    )


def _finding(causes: Causes) -> str:
    if not causes.level:
        what = "not even the kind of trouble is settled"
        if causes.levels.get(NOTHING_WRONG.level, 0.0) >= _IN_DOUBT_AT:
            what = "it is not settled whether anything is wrong, nor what kind of trouble it would be"
        return f"Open: {what}. Treat every instrument on this air as in doubt."
    first = causes.causes[0]
    sure = chances.about(causes.levels[causes.level])
    if causes.level == NOTHING_WRONG.level:
        return f"{capital(causes.level)} ({sure}): {NO_FINDING}."
    if first.confirmed:
        part = f"{capital(how(first.confirmed_by))}: {first.name}."
    else:
        part = "Which part it is stays open." if causes.undecided else f"Likely, not proved: {first.name}."
    return f"{capital(causes.level)} ({sure}). {part}"


def _air_instruments(description: AircraftDescription) -> list[str]:
    return [part.label for part in description.parts if KINDS[part.kind].is_gyro]


def _lost(description: AircraftDescription, causes: Causes, dead: float) -> tuple[str, ...]:
    """What does not work or cannot be believed."""
    instruments = _air_instruments(description)
    doubtful = [cause for cause in causes.causes if cause.present >= _IN_DOUBT_AT]
    one = {cause.part for cause in doubtful if cause.id in IN_DOUBT}
    lost: list[str] = []
    if dead >= _DEAD_AT:
        lost.append(f"No air: {', '.join(instruments)} run down within minutes and then show what is not so.")
    elif causes.level == "one instrument" and one:
        names = [part.label for part in description.parts if part.id in one]
        lost.append(f"In doubt: {', '.join(names)}. The others on the same air until it is shown why.")
    elif causes.level == "indication":
        lost.append("In doubt: what the gauge or lamp says. Without it nobody sees the supply fail.")
    elif causes.level == NOTHING_WRONG.level:
        names = [part.label for part in description.parts if part.id in one] or instruments
        lost.append(f"No part is known to be lost. In doubt until it was looked into: {', '.join(names)}.")
    else:
        lost.append(f"In doubt: {', '.join(instruments)}, most of all at low engine speed and at height.")
    if description.turn_instrument == "air":
        lost.append("The turn instrument hangs on the same air: no independent one is left.")
    elif description.turn_instrument == "none":
        lost.append("No turn instrument is described: look what is left that needs no air.")
    else:
        lost.append("Left: what needs no air (electric turn instrument, airspeed, altimeter, compass). Try each.")
    if description.lamp is None:
        lost.append("No warning lamp is described: the gauge is the only sign, outside the usual scan.")
    if "standby source" in fitted_besides(description):
        lost.append("A standby source replaces a pump only: not a line, a filter or an instrument. Test it first.")
    return tuple(lost)


def _pilot(dead: float, high: float) -> tuple[str, ...]:
    said = [
        "Supply lost in cloud is an emergency: say so to air traffic control, fly by what needs no air, get out of it.",
        *texts("suspect indicator"),
    ]
    if high > 0.3:
        said.extend(texts("over the band"))
    if dead < _DEAD_AT:
        said.append("A weak supply can stop within seconds. Nothing here says how long it lasts.")
    return tuple(said)


def _questions(description: AircraftDescription) -> tuple[Questions, ...]:
    shared = (
        "Does the type certificate's equipment for visual flight by day ask for it?",
        "Does the aircraft's own equipment list or its flight handbook mark it as required for this kind of flight?",
        "Does a directive ask for it?",
        "Is it on a minimum equipment list that this operator holds?",
        "With it switched off, removed or placarded: is there a hazard? Who judged that, and when?",
    )
    night = ("Is every light and power source for what is left good, and is there a horizon outside?",)
    instruments = (
        (
            "Do the operating rules for instrument flight ask for attitude, direction, rate of turn and slip? Which of "
            "them is left, on which power?"
        ),
        "Does the approval of an autopilot, or of flying single pilot, rest on it?",
        "If the rest of the supply stops in cloud: what is flown by, and has this pilot done it lately?",
    )
    boots = (
        ("The boots hang on the same air: is ice forecast?",) if "de-ice boots" in fitted_besides(description) else ()
    )
    return (
        Questions(flight="visual, by day", asks=(*shared, *boots)),
        Questions(flight="visual, by night", asks=night),
        Questions(flight="by instruments", asks=instruments),
    )


def _placard(description: AircraftDescription, causes: Causes, dead: float) -> tuple[str, ...]:
    what = _PLACARDED.get(causes.level, "GYRO AIR") if dead < _DEAD_AT else "GYRO AIR"
    names = ", ".join(name.upper() for name in _air_instruments(description))
    lines = [f"{what}: INOPERATIVE OR IN DOUBT", names, "DO NOT USE FOR ATTITUDE OR HEADING"]
    if description.autopilot_takes_attitude != "no autopilot":
        lines.append("AUTOPILOT: DO NOT ENGAGE")
    return (*lines, "date ________  entered by ________  record page ________")


def _autopilot(description: AircraftDescription) -> tuple[str, ...]:
    if description.autopilot_takes_attitude == "no autopilot":
        return ("No autopilot is described. If there is one, treat it as following the attitude indicator.",)
    follows = {
        "yes": "It follows an air-driven indicator: it will roll the aircraft smoothly after it.",
        "no": "It is described as not following these indicators; show that before it is used.",
    }.get(description.autopilot_takes_attitude, "Not known what it follows: treat it as following these indicators.")
    return (
        follows,
        "Off, and kept off: its breaker pulled and collared, or its switch guarded, as its supplement allows.",
        "Placard at its controls. A solid-state display elsewhere on the panel does not help it.",
        "Try every way of disconnecting it on the ground before it is trusted again.",
    )


def _pump(causes: Causes, dead: float) -> tuple[str, ...]:
    stopped = sum(cause.present for cause in causes.causes if cause.id == "coupling_sheared")
    if max(dead, stopped) >= _DEAD_AT:
        return (
            *texts("dead pump"),
            (
                "Write down how long the engine ran on after it stopped, and whether another source was used: it "
                "decides how far the debris went."
            ),
            "Keep the pump, its pieces and its coupling. Count the pieces.",
        )
    return (
        "If it stops: do not go on flying with it turning on its pad. Pad closed as the engine's data say.",
        "Turn no regulator screw to bring the gauge back: it hides the fault and loads the pump.",
    )


def _elsewhere(causes: Causes) -> tuple[str, ...]:
    shed = any(cause.present >= _IN_DOUBT_AT for cause in causes.causes if cause.id in _SHEDDERS)
    first = (
        ("No loaner pump or indicator onto lines that are not proved clean: it eats what the old one left.",)
        if shed
        else ("A loaner indicator: right part, papers, and air proved clean before it goes on.",)
    )
    askew = any(cause.present >= _IN_DOUBT_AT for cause in causes.causes if cause.id == "instrument_mounting")
    return (
        *first,
        *(("A mount or panel that is askew makes a loaner lean too: look at it first.",) if askew else ()),
        (
            "Flight to the repair: which permit, who issues it, who may be aboard, by day and clear of cloud only, "
            "which route keeps a field in reach?"
        ),
        "Does the insurance cover a flight with this item open? Ask before, in writing.",
        "Does a club or partner fly it next? Placard, entry and key say the same.",
    )


_SHEDDERS: Final = frozenset(
    {
        "coupling_sheared",
        "debris_left_in_lines",
        "worn_vanes",
        "inline_filter_loaded",
        "inline_filter_missing",
        *MAY_BLOW,
    }
)


def _decides() -> tuple[str, ...]:
    return (
        "The owner or operator sees to it that open discrepancies are repaired or lawfully put off.",
        "A certificated mechanic or the pilot, as the local rules say, judges the hazard and makes the entry.",
        "The pilot in command decides whether this flight is safe. This sheet decides nothing.",
        DEFERENCE,
    )


# ---- the report after a loss in flight -----------------------------------------------------------------------------


def loss_in_flight(causes: Causes, evidence: Evidence) -> bool:
    """Whether the evidence speaks of a loss in flight: a sudden stop, or things noticed minutes after one."""
    noticed = {remark.symptom for remark in evidence.remarks if remark.present}
    after = any(remark.minutes_after is not None for remark in evidence.remarks)
    return after or "stopped_suddenly" in noticed or causes.levels.get("supply dead", 0.0) >= _DEAD_AT


def loss_report(
    description: AircraftDescription,
    causes: Causes,
    evidence: Evidence,
    *,
    words: str,
    dated: datetime.date,
) -> LossReport:
    """A draft from what is held. What nobody wrote down is asked for, not guessed."""
    return LossReport(
        aircraft=description.name,
        dated=dated,
        sections=(
            Told(
                title="What happened, in the reporter's words",
                held=tuple(part for part in (words.strip(), *evidence.notes) if part),
                to_add=("phase of flight, cloud or clear, day or night, traffic control told or not",),
            ),
            Told(
                title="In order of time", held=_in_order(evidence), to_add=("how it was first noticed, and how late",)
            ),
            Told(title="Conditions", held=_conditions(evidence), to_add=("weather, ice, engine power",)),
            Told(title="Readings", held=_readings(evidence)),
            Told(
                title="Aircraft and part",
                held=_part(description),
                to_add=("type, serials, part number, maker's data: as your own record has them",),
            ),
            Told(
                title="Worked on before",
                held=_before(description, evidence),
                to_add=("record page of the last change",),
            ),
            Told(title="What it may have been", held=_may_be(causes), to_add=("what was found when it was opened",)),
            Told(
                title="What it led to, and what would have helped",
                to_add=("outcome of the flight", "what warned, what did not", "what you would tell another pilot"),
            ),
        ),
        before_sending=(
            (
                "Two kinds of system take such reports: a confidential one for safety (the flight) and "
                "the authority's own for difficulties in service (the part). Which, and by when, the "
                "local rules say; some reports are a duty, not a choice."
            ),
            (
                "A confidential system may shield who reports soon; read its terms first. Names and registrations only "
                "where its form asks for them."
            ),
            "An accident or a serious incident goes to the investigating authority first.",
            "Nothing has been sent. You decide, you sign.",
        ),
    )


def _in_order(evidence: Evidence) -> tuple[str, ...]:
    def when(remark: Remark) -> tuple[float, str]:
        first = -1.0 if remark.symptom in _LOSS_SIGNS else 1e6
        return (first if remark.minutes_after is None else remark.minutes_after, remark.id)

    told = []
    for remark in sorted(evidence.remarks, key=when):
        words = " ".join((SYMPTOMS[remark.symptom].words, remark.manner)).strip()
        words += f": {remark.note}" if remark.note else ""
        lead = "" if remark.minutes_after is None else f"{remark.minutes_after:.0f} min after: "
        told.append(f"{lead}{words}" if remark.present else f"{lead}looked for, and absent: {words}")
    return tuple(told)


def _conditions(evidence: Evidence) -> tuple[str, ...]:
    found = []
    if evidence.altitude_m is not None:
        found.append(f"pressure altitude {evidence.altitude_m / _M_PER_FT:.0f} ft")
    if evidence.temperature_k is not None:
        found.append(f"outside air {shown(evidence.temperature_k, 'temperature')}")
    return tuple(found)


def _readings(evidence: Evidence) -> tuple[str, ...]:
    return tuple(_reading(reading) for reading in evidence.readings if not reading.sound)


def _reading(reading: Reading) -> str:
    height = "" if reading.altitude_m is None else f", {reading.altitude_m / _M_PER_FT:.0f} ft"
    dated = "" if reading.when is None else f", {reading.when}"
    return f"{reading.instrument} {inhg(reading.value_pa):.1f} inHg at {reading.engine_rpm:.0f} rpm{height}{dated}"


def _part(description: AircraftDescription) -> tuple[str, ...]:
    found = [f"{description.duty} duty, {len(description.parts_of('pump'))} engine-driven dry pump(s)"]
    now = description.meters.tach_centihours
    for pump in description.parts_of("pump"):
        fitted = pump.fitted
        if fitted.date is not None:
            found.append(f"{pump.label} fitted {fitted.date}")
        if fitted.tach_centihours is not None and now is not None:
            found.append(f"{pump.label}: {centihours_text(now - fitted.tach_centihours)} since it was fitted")
    return tuple(found)


def _before(description: AircraftDescription, evidence: Evidence) -> tuple[str, ...]:
    labels = description.labels()
    return tuple(
        EVENTS[event.kind].words
        + (f" ({labels.get(event.about, event.about)})" if event.about else "")
        + (f", {event.hours_ago:.1f} h before" if event.hours_ago is not None else "")
        for event in evidence.events
    )


def _may_be(causes: Causes) -> tuple[str, ...]:
    named: Sequence[str] = [
        f"{cause.name}: {chances.about(cause.probability)}"
        + (f", {how(cause.confirmed_by)}" if cause.confirmed else "")
        + (f"; {NO_FINDING}" if cause.id == NOTHING_WRONG.id else "")
        for cause in causes.causes
        if cause.probability >= _WORTH_NAMING
    ]
    return (*named, "computed from the readings and reports above; not a finding") if named else ()
