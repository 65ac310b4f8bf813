"""Instruments out and back, the gauge, the lamp, the autopilot, and what to do when nothing of the list fits."""

from __future__ import annotations

from vanewise.aircraft.description import Part
from vanewise.aircraft.kinds import KINDS
from vanewise.contamination.plumbing import the
from vanewise.work.cautions import texts
from vanewise.work.job import Job
from vanewise.work.types import Task

_SHOP_DAYS = 21.0
"""Days an instrument is away (judgement; ask the shop)."""
_SENT_BY = ("indicator_bearing", "indicator_contaminated", "instrument_case_leak")
"""Causes put right at a shop. One that is askew, plugged or wrongly connected is put right where it is."""


def gyros_to_shop(job: Job) -> tuple[Task, ...]:
    """Every gyro on the list, and the one whose own cause a shop puts right: out, away, received, back."""
    wanted = [gyro for gyro in job.gyros if job.is_suspect(gyro.id) or _by_cause(job, gyro)]
    return tuple(task for gyro in wanted for task in (_out(job, gyro), _received(job, gyro), _back(job, gyro)))


def _by_cause(job: Job, gyro: Part) -> bool:
    """True when the cause sits in it and is one that a shop puts right."""
    return gyro.id == job.place and job.mode in _SENT_BY


def _by_list(job: Job, gyro: Part) -> bool:
    """True when only the list, and not the cause itself, sends it away."""
    return job.is_suspect(gyro.id) and not _by_cause(job, gyro)


def _condition(job: Job, gyro: Part) -> str:
    if not _by_list(job, gyro):
        return ""
    return (
        f"debris got to {the(gyro.label)}: if the traces end inside its hose and its port is clean, record that and "
        f"make "
        "a new package"
    )


def _out(job: Job, gyro: Part) -> Task:
    by_list = _by_list(job, gyro)
    port = "outlet" if job.description.duty == "suction" else "inlet"
    return Task(
        id=f"{gyro.id}-out",
        title=f"Take {the(gyro.label)} out and send it to an instrument shop",
        steps=(
            f"Look into its {port} and at its hose end first: wipe with white cloth, borescope, photograph.",
            "Fully stopped and upright; ports and connector capped as they open; serial photographed.",
            (
                "Box in the box, two inches of foam all round; with it the shop note of this package: symptoms, "
                "readings, "
                "what was found at the port."
            ),
        ),
        after=("trace-look", "tags") if by_list else ("tags",),
        minutes=45,
        consumables=("port caps", "double box with foam"),
        cautions=texts("instrument handling", "instrument inside", "spinning gyros"),
        waiting_days=_SHOP_DAYS,
        only_if=_condition(job, gyro),
        why=f"{gyro.label} is on the list" if by_list else job.mode_name,
    )


def _received(job: Job, gyro: Part) -> Task:
    return Task(
        id=f"{gyro.id}-documents",
        title=f"Receive {the(gyro.label)}: instrument, papers, report",
        steps=(
            "Serial on the case is the serial on the paper; status word, date, signature, approval reference.",
            (
                "Read the report to its last line: erection time, drift, air use, leak; and what was found inside. "
                "Grey or "
                "black dust reopens the search for where it came from."
            ),
            "Inlet screen or filter and caps present; connector and autopilot pickoff of the version that came out.",
        ),
        after=(f"{gyro.id}-out",),
        minutes=15,
        closes=(gyro.id,) if job.is_suspect(gyro.id) else (),
        only_if=_condition(job, gyro),
        hold_point="Report read by the person who will sign.",
        cautions=texts("instrument handling"),
    )


def _back(job: Job, gyro: Part) -> Task:
    return Task(
        id=f"{gyro.id}-on",
        title=f"Refit {the(gyro.label)}",
        steps=(
            "Caps off only at connection. Screws of the right length; nothing forced; no blow on the glass.",
            "Connector seated; the map decides which port gets which hose.",
        ),
        after=(f"{gyro.id}-documents",),
        minutes=45,
        only_if=_condition(job, gyro),
        cautions=texts("instrument handling", "suspects open"),
    )


def prove_air_first(job: Job) -> tuple[Task, ...]:
    """Before an instrument is blamed or sent away: does the air reach it?"""
    return (
        Task(
            id="air-first",
            title=f"Prove the air at {job.the(job.place)} before it goes anywhere",
            steps=(
                "Test gauge across the instrument's own two ports through the sweep: is it fed?",
                "Look at its own inlet filter or screen.",
                "Fed as it should be and still sick: the instrument. Not fed: the instrument is innocent so far.",
            ),
            after=("open-up",),
            minutes=30,
            tools=("calibrated differential gauge", "tee and adapters"),
            cautions=texts("engine run", "over the band", "spinning gyros", "suspect indicator"),
            hold_point="Reading across the instrument written down.",
            why="An overhauled instrument on bad air acts the same, or is killed by it.",
        ),
    )


def look_for_dirt_source(job: Job) -> tuple[Task, ...]:
    """A contaminated instrument has a source: filters, lines, pump."""
    return (
        Task(
            id="dirt-source",
            title="Find where the dirt came from before another instrument is fitted",
            steps=(
                "Black: carbon, from a pump. Grey-brown: cabin dust, past a filter or through a leak. Crumbs: foam.",
                "Intake or inline filter: fitted, whole, sealed, the right way round? Cut it open.",
                "Trace from what is found, and make the package for that source with this one as parent.",
            ),
            after=("open-up",),
            minutes=40,
            tools=("borescope", "white lint-free cloth", "knife", "tray"),
            cautions=texts("carbon dust"),
            hold_point="Source named, or written down as not found.",
            why="The second instrument dies of what killed the first.",
        ),
    )


def refit_filter_and_look(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="inlet-look",
            title="Look at the inlet of every gyro that breathed unfiltered air",
            steps=(
                "Wipe each inlet with white cloth; look at screen and jets from outside.",
                "Dirt there: shop, with a note. Clean: write it down and look again at 25 h.",
            ),
            after=("open-up",),
            minutes=20,
            tools=("lamp", "white lint-free cloth"),
            cautions=texts("instrument inside"),
        ),
    )


def ports(job: Job) -> tuple[Task, ...]:
    """A port freed, or two hoses put where they belong: at the instrument the cause sits in, and a look at the rest."""
    named = job.the(job.place)
    step = {
        "port_plugged": (
            f"Take the plug or cap out of the port of {named} that its hose belongs on, whole; a piece that is missing "
            "is still inside: shop. A spare port keeps its plug."
        ),
        "instrument_lines_exchanged": (
            f"Look that it is {named} whose hoses are exchanged, where only the trace of the hoses said so; put inlet "
            "and outlet hose where its own data and the map say."
        ),
    }[job.mode]
    return (
        Task(
            id="ports",
            title=f"Put the ports and hoses of {named} right",
            steps=(
                "Marks on the case against the instrument's own data: which port is inlet, which outlet, which spare.",
                step,
                "Wipe both ports with white cloth: air that came in unfiltered leaves a trace. Dirt there: shop.",
                "The other instruments that were worked on: the same look.",
                "Correct the tags and the map where they say it wrongly.",
            ),
            after=("tags",),
            minutes=25,
            tools=("lamp", "mirror", "white lint-free cloth"),
            consumables=("clean caps",),
            cautions=texts("instrument inside", "spinning gyros", "suspect indicator"),
            hold_point=(
                "Each port in use open, each spare port plugged, each hose where the instrument's own data say, seen "
                "by a second person."
            ),
            why=job.mode_name,
        ),
    )


def mount(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="mount",
            title=f"Level and tighten {job.the(job.place)} in its panel",
            steps=(
                "Level the aircraft as its own manual says; gyros stopped.",
                "Is it the instrument in the panel, or the panel? Shock mounts, their straps, screws, cracks.",
                (
                    "Level it to the mark its own data name, for the tilt this panel has; screws of the right length, "
                    "tight as the manual says."
                ),
                "The knob sets the pointer for the eye: it is not turned to hide a lean.",
                "For the ground run: look at start, in taxi turns and before shutdown. Still leaning: not the mount.",
            ),
            after=("open-up",),
            minutes=40,
            tools=("level", "screwdriver"),
            cautions=texts("instrument handling", "spinning gyros", "suspect indicator"),
            hold_point="Level and tight, seen with the aircraft level.",
            why=job.mode_name,
        ),
    )


def gauge(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="gauge",
            title="Put the gauge right",
            steps=(
                "Look at both its lines: kinked, blocked, wet, swapped. Draw them through with the gauge disconnected.",
                "Gauge itself wrong against the test gauge: exchange it, or a shop with a report.",
                "The regulator is not touched for a gauge.",
            ),
            after=("open-up",),
            minutes=40,
            parts=("suction or pressure gauge, if it is the gauge itself",),
            tools=("calibrated differential gauge", "tee and adapters"),
            cautions=texts("compressed air", "regulator lock"),
        ),
    )


def lamp(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="lamp",
            title="Put the low-air lamp right",
            steps=(
                (
                    "Bulb, press-to-test, wiring, switch line; then the trip point against a test gauge, rising and "
                    "falling."
                ),
                "Switch out of its range: exchange it.",
            ),
            after=("open-up",),
            minutes=40,
            parts=("switch or bulb, as found",),
            tools=("calibrated differential gauge", "tee and adapters"),
            cautions=texts("engine run", "over the band"),
        ),
    )


def autopilot(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="autopilot-shop",
            title="Autopilot: to the people rated for it",
            steps=(
                "Hand over what is proved: the indicator fed and steady, its readings, what the autopilot does.",
                "Pickoff version and connector of the indicator go with the report.",
                "Until it is back: switched off, breaker out and collared or as the manual says, placard.",
            ),
            who="instrument shop",
            after=("open-up",),
            minutes=30,
            waiting_days=7.0,
            cautions=texts("autopilot"),
        ),
    )


_WIDENED = {
    "nothing_wrong": "No fault by what was told, which is no proof that there is none.",
    "standby_inoperative": "The standby source is put right as its own supplement says.",
}
"""What is known where the evidence is widened; else no cause stands out."""


def further_checks(job: Job) -> tuple[Task, ...]:
    """No repair is known: no part is bought, the evidence is widened."""
    return (
        Task(
            id="widen",
            title="Widen the evidence: nothing is replaced yet",
            steps=(
                "Test gauge in parallel; full sweep, warm, up and down, rpm from one instrument; lamp rpm both ways.",
                "A second span: across each gyro, across the filter, at the pump if it can be reached.",
                "Each gyro capped in turn, and a sweep each time.",
                "Enter everything, also what was looked for and not found, and ask again.",
            ),
            after=("open-up",),
            minutes=90,
            tools=("calibrated differential gauge", "tee and adapters", "clean caps"),
            cautions=texts("engine run", "over the band", "spinning gyros", "regulator lock"),
            why=f"{_WIDENED.get(job.mode, 'No cause stands out.')} A part changed on a guess erases evidence.",
        ),
    )


def shop_packing() -> tuple[str, ...]:
    """How an instrument travels."""
    return (
        "ports and connector capped",
        "upright, fully stopped, two inches of foam all round, box in box",
        "marked as a delicate instrument on all sides",
    )


def is_instrument(job: Job) -> bool:
    """True when the cause sits in a gyro."""
    return any(gyro.id == job.place for gyro in job.gyros) and KINDS[job.description.part(job.place).kind].is_gyro
