"""The pump off, taken apart on paper, the pad, the elbows, the pump on."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.contamination.plumbing import the
from vanewise.work.cautions import texts
from vanewise.work.job import Job
from vanewise.work.types import Task

_MARK: Final = "Compare its rotation mark with the pad's, as its own sheet says it is viewed; turn nothing by force."
WHY_STEPS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "worn_vanes": (
            "Measure each vane as the maker shows and write all of them down: the shortest one counts.",
            "Hours of this pump, its duty and its readings over time belong on the page.",
        ),
        "coupling_sheared": (
            "Look at the broken face: twisted, dry, oily, old. Date and hours of the coupling.",
            "Turn the rotor by hand: free and smooth, or does it drag? A coupling that sheared alone has a reason too.",
        ),
        "debris_left_in_lines": (
            (
                "Measure every piece and compare it with this pump's own vanes: thickness, shape, colour. A piece that "
                "fits none came from somewhere else."
            ),
            "Find the record of the last pump change: was a line cleaned, was the old pump looked at?",
        ),
        "oil_in_pump": (
            "Look for paste, gloss on the rotor, oil in the coupling space; where did the oil come from?",
            "Pad seal, drain, gasket: which side was wet?",
        ),
        "solvent_or_water_in_pump": (
            "Look for streaks and paste; was the engine washed, was there rain or a wet filter before?",
        ),
        "pump_overheated": (
            (
                "Look for blue or brown housing and a cooked coupling; what made it work hard: outlet, hose, "
                "setting, height?"
            ),
            "Look through the outlet and squeeze the hose at the pump, both cold and warm.",
        ),
        "pump_rotation_wrong": (
            _MARK,
            "Right hand after all: ask whether the propeller was turned back, and how far.",
        ),
        "pump_turns_wrong_way": (
            _MARK,
            (
                "White cloth into both hoses at the pump: where it blew, its dust went towards the instruments. Dust "
                "there: trace it before they are run."
            ),
        ),
        "pump_damaged_when_fitted": (
            "Look for jaw marks on the body, a port turned too far, a coupling drawn in; who fitted it, and how?",
        ),
    }
)
"""What to look for, by cause, when the pump lies open on the bench."""


def pump_off(job: Job) -> tuple[Task, ...]:
    pump = job.pump
    return (
        Task(
            id="pump-off",
            title=f"Take {the(pump.label)} off",
            steps=(
                "Look at outlet and drain first: soot, chips, oil; photograph.",
                (
                    "Close every hole below the pad. Take the hoses off at the pump and cap hose and port at once: "
                    "clean "
                    "caps, no tape, no rag."
                ),
                (
                    "Slacken the four nuts a little in turn and ease the pump back: against the pad there is not "
                    "enough stud "
                    "to free the washers. The worst nut can sometimes be reached from the far side of the pump."
                ),
                "Count nuts and washers into the tin as they come: as found on this pad.",
                "Keep the pump as it is: no shaking, no turning. Note how the drain slots stood. Bag the ports.",
                "Hang a removed-part tag: part, serial, position, hours, reason, who, date.",
            ),
            after=("tags", "fitting-angles"),
            minutes=75,
            tools=("thin open-end or crowfoot wrench for the hidden nut", "magnet", "mirror"),
            consumables=("clean caps", "bags", "removed-part tag"),
            cautions=texts("propeller", "dropped hardware", "hot", "fragment"),
            hold_point="Nuts and washers counted out and written down.",
            closes=(pump.id,) if job.is_suspect(pump.id) else (),
        ),
        Task(
            id="pump-look",
            title=f"Find out why: open {the(pump.label)} on the bench and lay everything out",
            steps=(
                "Hold it by the mounting flange only.",
                (
                    "Lay out all vanes and every piece, count them, photograph the set with a scale. Complete, or "
                    "what is "
                    "missing?"
                ),
                *WHY_STEPS.get(job.mode, ()),
                "Keep pump, coupling and every fragment until this page is done; return a core only after that.",
            ),
            after=("pump-off",),
            minutes=40,
            tools=("caliper", "tray", "camera"),
            cautions=texts("vise", "carbon dust", "turning"),
            hold_point="Set complete, or the search for the missing piece written down.",
            why="The next pump dies of what killed this one.",
        ),
    )


def pump_documents(job: Job) -> tuple[Task, ...]:
    pump = job.pump
    return (
        Task(
            id="pump-documents",
            title="Receive the other pump: part and papers",
            steps=(
                "Rotation, class, ports and drive match this engine's pad; say from which end rotation is seen.",
                (
                    "Serial on the part is the serial on the paper; status (new, overhauled, inspected) is what was "
                    "ordered."
                ),
                "Date, signature, approval reference; test figures with it. Its own new coupling is in it.",
                "Directives searched: by whom, when.",
            ),
            after=("pump-look",),
            minutes=15,
            parts=(
                f"pump in place of {the(pump.label)}: right rotation and class, with documents and new coupling",
                "pad seal",
                "pad gasket made for that pump",
            ),
            hold_point="Documents seen by the person who will sign.",
        ),
    )


def pump_on(job: Job) -> tuple[Task, ...]:
    return (
        *_pad(job, "pump-look"),
        Task(
            id="elbows",
            title="Move the elbows to the pump that goes on",
            steps=(
                "Hold the pump by its mounting flange.",
                (
                    "Look at each elbow: rounded flats or a crack, and it is replaced. Clean threads, nothing on them "
                    "unless the manual says so."
                ),
                (
                    "By hand at least three threads and until tight; write the hand-tight angle; then on to the "
                    "recorded "
                    "angle, usually less than one turn, never back."
                ),
                "Write the turns of each. Look at the port with a lamp: no crack.",
            ),
            after=("pump-documents",),
            minutes=25,
            tools=("paper clock face", "lamp", "soft jaws for the flange"),
            cautions=texts("vise", "thread sealant", "fitting turns"),
            hold_point="Angles and turns written down, no crack at a port.",
        ),
        Task(
            id="pump-on",
            title="Fit the other pump",
            steps=(
                "Coupling free, nothing in it that the manual does not ask for.",
                "Slide it on square, gasket the right way, drain lowest; it must seat by hand.",
                (
                    "Start the hidden nut first, then the others: washers as found on this pad, new self-locking "
                    "nuts if "
                    "that is what it has. All finger-tight."
                ),
                "Diagonal, two or three passes, to the value on the torque sheet, adapter corrected. Paint the nuts.",
                "Count what is left in the tin.",
            ),
            after=("pad", "elbows"),
            minutes=60,
            parts=("nuts and washers for the pad, where self-locking ones must be new",),
            tools=("torque wrench, calibrated", "crowfoot adapter", "torque paint"),
            cautions=texts("propeller", "drawing in", "dropped hardware", "suspects open"),
            hold_point="Flange seated without force, drain at the bottom, torque witnessed, count in.",
        ),
    )


def _pad(job: Job, after: str) -> tuple[Task, ...]:
    return (
        Task(
            id="pad",
            title="Make the pad ready",
            steps=(
                "Clean the pad; studs straight, tight, long enough, threads whole.",
                (
                    "New seal, new gasket of the right kind, oil holes in line where the pad has them; dry or as the "
                    "manual "
                    "says."
                ),
                "A pad with four drain slots: close three, leave the lowest open, as the maker shows.",
            ),
            after=(after,),
            minutes=25,
            consumables=("lint-free cloth",),
            cautions=texts("dropped hardware", "solvent"),
        ),
    )


def replace_pump(job: Job) -> tuple[Task, ...]:
    """Off, looked at, another one on."""
    return (*pump_off(job), *pump_documents(job), *pump_on(job))


def inlet_look(job: Job) -> tuple[Task, ...]:
    """Pumps on the list that did not shed themselves: looked into, not opened."""
    sources = frozenset[str]() if job.scope is None else job.scope.sources
    chosen = tuple(pump for pump in job.suspects_of("pump") if pump not in sources)
    if not chosen:
        return ()
    return (
        Task(
            id="pump-inlet-look",
            title=f"Look into {' and '.join(job.label(pump) for pump in chosen)}",
            steps=(
                "Hose off at the pump; borescope into both ports: no piece, no fresh score, no paste.",
                "Turn it as the manual permits: smooth, no grit. In doubt it is replaced: make a package for that.",
                "Cap the ports until the hose goes back.",
            ),
            after=("trace-look", "tags"),
            minutes=25.0 * len(chosen),
            tools=("borescope", "lamp"),
            consumables=("clean caps",),
            cautions=texts("propeller", "turning", "hot"),
            closes=chosen,
        ),
    )


def pad_seal(job: Job) -> tuple[Task, ...]:
    """The seal alone: the same pump comes off and goes on."""
    off = pump_off(job)[0]
    return (
        off,
        Task(
            id="pump-look",
            title=f"Look into {the(job.pump.label)} for oil",
            steps=(
                "Coupling space, ports and rotor face: dry and grey, or wet and glossy?",
                "Oil inside means the pump is not refitted: make a new package for oil in the pump.",
            ),
            after=("pump-off",),
            minutes=10,
            cautions=texts("vise"),
            hold_point="Pump dry inside, seen by the person who will sign.",
        ),
        *_pad(job, "pump-look"),
        Task(
            id="pump-on",
            title=f"Refit {the(job.pump.label)}",
            steps=(
                "Slide it on square, drain lowest; it must seat by hand. Start the hidden nut first.",
                "Diagonal, two or three passes, to the value on the torque sheet, adapter corrected. Count the tin.",
            ),
            after=("pad",),
            minutes=60,
            parts=("pad seal", "pad gasket made for that pump"),
            tools=("torque wrench, calibrated", "crowfoot adapter", "torque paint"),
            cautions=texts("propeller", "drawing in", "dropped hardware"),
            hold_point="Flange seated without force, drain at the bottom, torque witnessed, count in.",
        ),
        Task(
            id="oil-look",
            title="Clean, run, look again",
            steps=("Wipe pad, drain and belly clean; after the ground run look for oil at the drain.",),
            after=("ground-run",),
            minutes=10,
            cautions=texts("propeller", "hot"),
        ),
    )


def clear_outlet(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="outlet",
            title="Clear the pump outlet",
            steps=(
                "Look in with a lamp; take nest, mud or kink out in one piece; keep it and photograph it.",
                (
                    "Look for what heat has done: blue or brown housing, cooked coupling, hard hose. If so, plan for "
                    "a pump "
                    "that has run hot."
                ),
                "Fit a screen only where the aircraft's data allow one.",
            ),
            after=("open-up",),
            minutes=15,
            tools=("lamp", "long tweezers"),
            cautions=texts("propeller", "hot"),
            hold_point="Light seen through the outlet.",
        ),
    )


def find_oil_source(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="oil-source",
            title="Find where the oil came in",
            steps=(
                (
                    "Pad seal, gasket, shaft, coupling space, a wash, an overfilled crankcase breather nearby: write "
                    "what "
                    "was found."
                ),
                "Clean the belly and the pad, so that the next look tells something.",
            ),
            after=("pump-off",),
            minutes=20,
            tools=("mirror", "lamp", "rags, counted"),
            cautions=texts("solvent"),
        ),
    )
