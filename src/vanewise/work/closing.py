"""Putting it together, proving it, writing it down, looking again."""

from __future__ import annotations

from vanewise.aircraft.fitted import fitted_besides
from vanewise.work.cautions import texts
from vanewise.work.job import Job
from vanewise.work.opening import OWNER
from vanewise.work.types import FollowUp, Task


def reconnect(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="reconnect",
            title="Reconnect by the map",
            steps=(
                (
                    "Line by line: tag number to tag number, confirmed on the sheet, photographed beside the first "
                    "picture."
                ),
                "Caps off only at the moment of connection; count the caps.",
                "Clamps behind beads, screws reachable, no twist, nothing chafes; filter arrows towards the gyros.",
            ),
            after=("tags",),
            minutes=10.0 + 3.0 * len(job.tags),
            cautions=texts("thread sealant"),
            hold_point="Every line confirmed at both ends against the map, seen by a second person.",
        ),
        Task(
            id="count-in",
            title="Count everything in",
            steps=(
                "Nuts, washers, caps, rags, tools, pieces: each count equal or explained.",
                "Lamp and mirror round the pump, under the panel, in the belly.",
            ),
            after=("reconnect",),
            minutes=10,
            cautions=texts("dropped hardware"),
            hold_point="All counts closed.",
        ),
    )


def reconnect_as_needed(job: Job) -> tuple[Task, ...]:
    """Only where a list made somebody open lines."""
    return reconnect(job) if job.suspects else ()


def ground_run(job: Job) -> tuple[Task, ...]:
    tasks = [
        Task(
            id="ground-run",
            title="Ground run on the card",
            steps=(
                "Outlet free, drain open and lowest, nothing loose, pointer on its stop.",
                "Warm oil. Each speed of the card, held 15 seconds, rising and then falling; write gauge and lamp.",
                "Any reading above the band: stop.",
                "Below the knee: cover the regulator's intake for five seconds, where it can be reached.",
                "Attitude: minutes to erect; level in taxi turns. Heading: set, drift in 15 minutes.",
            ),
            after=("reconnect",),
            minutes=40,
            tools=("ground-run card", "stopwatch", "calibrated differential gauge"),
            cautions=texts("engine run", "over the band", "cover test", "spinning gyros"),
            hold_point="Every point of the card within its band, or the run has failed.",
        ),
        Task(
            id="after-run",
            title="Look after the run",
            steps=(
                "Soot at the outlet, oil at the drain, paint marks, hoses warm but firm, no hiss.",
                "Nuts again if the manual says so.",
            ),
            after=("ground-run",),
            minutes=15,
            tools=("lamp", "mirror"),
            cautions=texts("propeller", "hot"),
        ),
    ]
    if job.description.autopilot_takes_attitude in ("yes", "unknown"):
        tasks.append(
            Task(
                id="autopilot-test",
                title="Autopilot: its own ground test, and every way to disconnect it",
                steps=(
                    "The manual's preflight test, with the indicator erect; disconnect by each switch and by force.",
                ),
                after=("ground-run",),
                minutes=10,
                cautions=texts("autopilot"),
            )
        )
    return (*tasks, *_other_users(job))


def hot_repeat(job: Job) -> tuple[Task, ...]:
    """A hose that goes soft does it hot: the sweep once more after the heat has soaked in."""
    return (
        Task(
            id="hot-repeat",
            title="Repeat the sweep hot",
            steps=(
                "Engine off, cowling closed, half an hour: the hoses take the heat of the engine.",
                "Start, the whole sweep again at once; write it beside the first. Squeeze the hoses after shutdown.",
            ),
            after=("ground-run",),
            minutes=60,
            tools=("ground-run card", "stopwatch"),
            cautions=texts("engine run", "hot", "over the band"),
            hold_point="Hot sweep within the same band, no hose soft.",
        ),
    )


def _other_users(job: Job) -> tuple[Task, ...]:
    """What else lives on this air and is not computed: tried before it is needed."""
    tasks: list[Task] = []
    if "standby source" in fitted_besides(job.description):
        tasks.append(
            Task(
                id="standby-test",
                title="Try the standby source by itself",
                steps=(
                    (
                        "As its manual says: engine-driven pump not turning, or at low engine speed; reading with the "
                        "standby alone, then with both."
                    ),
                    "Write both readings and the date: the next function test counts from here.",
                ),
                after=("ground-run",),
                minutes=10,
                cautions=texts("engine run", "over the band"),
            )
        )
    boots = [name for name in fitted_besides(job.description) if name != "standby source"]
    if boots:
        tasks.append(
            Task(
                id="cycle-test",
                title=f"Cycle {' and '.join(boots)} twice while watching the gauge",
                steps=(
                    (
                        "On the ground, by the manual, never for the first time in ice: twice, gauge and seconds to "
                        "recover each time."
                    ),
                    "A dip that stays is a stuck valve or a leak; a first cycle after work has stopped pumps before.",
                ),
                after=("ground-run",),
                minutes=10,
                cautions=texts("engine run", "over the band"),
            )
        )
    return tuple(tasks)


def set_regulator(job: Job) -> tuple[Task, ...]:
    """Turning the screw: only where the run asks for it, and locked until everything else is proved."""
    if not job.description.parts_of("regulator"):
        return ()
    cause_is_setting = job.mode in ("regulator_low", "regulator_high")
    return (
        Task(
            id="regulator-set",
            title="Set the regulator",
            steps=(
                (
                    "At the speed and height the manual names, engine warm, test gauge in: small turns, half a "
                    "minute each."
                ),
                "Lock nut, paint, threads showing written down; then the whole sweep again.",
            ),
            after=("ground-run",),
            minutes=25,
            tools=("calibrated differential gauge", "torque paint"),
            cautions=texts("regulator lock", "engine run", "over the band"),
            only_if="" if cause_is_setting else "the run shows a plateau off the band with everything else proved",
            hold_point="Set against which gauge, by whom, threads showing: written down.",
        ),
    )


def paperwork(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="record",
            title="Write it down",
            steps=(
                "Complete the record draft: what was found, done, fitted (serials), cleaned, how it was proved.",
                "A clean line is written down or it did not happen.",
                "Filter and part tags hung; removed parts kept with their story.",
                "The certificated person reads, decides and signs; the tool never does.",
            ),
            after=("after-run",),
            minutes=30,
            cautions=texts("draft"),
        ),
    )


def close_up(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="close-up",
            title="Close up",
            steps=("Panel and cowling closed after the last look; fasteners counted from the tin.",),
            after=("after-run",),
            minutes=25,
        ),
    )


def follow_ups(job: Job) -> tuple[FollowUp, ...]:
    """Looks at 1, 10 and 25 h (common practice, no source)."""
    filters = "inline filter cut open, housing wiped" if job.description.duty == "pressure" else "filters looked at"
    return (
        FollowUp(after_hours=1.0, what="leaks, oil at the drain, paint marks, hoses"),
        FollowUp(after_hours=10.0, what="sweep against the new baseline, soot at the outlet, oil"),
        FollowUp(after_hours=25.0, what=f"{filters}, regulator filter, sweep"),
    )


__all__ = [
    "OWNER",
    "close_up",
    "follow_ups",
    "ground_run",
    "hot_repeat",
    "paperwork",
    "reconnect",
    "reconnect_as_needed",
    "set_regulator",
]
