"""Before anything is loosened: made safe, opened up, photographed, mapped and tagged."""

from __future__ import annotations

from typing import Final

from vanewise.work.cautions import texts
from vanewise.work.job import Job
from vanewise.work.types import Task

OWNER: Final = "owner, where the local rules allow"


def make_safe(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="safe",
            title="Make the aircraft safe",
            steps=(
                "Park level, brakes and chocks; battery off; magnetos off and grounded; key out.",
                "Wait until the gyros stand still, about 15 minutes after the air stopped.",
                "Hang a sign at the controls: work on the air system, do not turn the propeller.",
            ),
            who=OWNER,
            minutes=20,
            tools=("chocks", "sign for the controls"),
            cautions=texts("propeller", "spinning gyros", "hot"),
        ),
    )


def open_up(job: Job) -> tuple[Task, ...]:
    """Access, counted once for the whole job."""
    in_bay = any(line.runs_in == "engine bay" for line in job.description.lines)
    steps, minutes = [], 0.0
    if in_bay:
        steps.append("Cowling off; fasteners in a marked tin.")
        minutes += 15
    if any(line.runs_in == "cabin" for line in job.description.lines):
        steps.append("Panel underside open as far as the lines need; control column padded; seat out if it helps.")
        minutes += 20
    return (
        Task(
            id="open-up",
            title="Open up",
            steps=tuple(steps),
            after=("safe",),
            minutes=minutes,
            tools=("lamp", "mirror", "padding for the control column"),
            why="Counted once: every task below uses the same access.",
        ),
    )


def map_and_tag(job: Job) -> tuple[Task, ...]:
    """Photographs, tags at both ends of every line, fitting angles: the state to come back to."""
    lines = len(job.tags)
    return (
        Task(
            id="photographs",
            title="Photograph everything as it is",
            steps=(
                "Engine bay from front, left, right and below; behind the panel from left, right and above.",
                "Each part with its tag number in the picture; each fitting with a paper clock face behind it.",
            ),
            after=("open-up",),
            who=OWNER,
            minutes=15,
            tools=("camera", "paper clock face"),
        ),
        Task(
            id="tags",
            title=f"Tag both ends of all {lines} lines",
            steps=(
                "Hang the printed tags, the same number on both ends, before anything is loosened; no metal wire.",
                "Compare each line with the hose map; write in length, bore, routing, clips and clamp as found.",
                "Every number hangs twice (once where a line ends open), every port has one tag.",
            ),
            after=("open-up",),
            who=OWNER,
            minutes=5.0 + 2.0 * lines,
            consumables=(f"tags, {lines} pairs",),
            hold_point="Every line tagged at both ends and the map agreed with the aircraft, seen by a second person.",
        ),
    )


def capture_fittings(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="fitting-angles",
            title="Record how each fitting points",
            steps=(
                "Write the clock angle of each elbow, looking at the port, 12 o'clock as stated on the sheet.",
                (
                    "Count the threads showing; note dry or what is on the threads; draw a cardboard template if it "
                    "is tight."
                ),
            ),
            after=("tags",),
            minutes=10,
            tools=("paper clock face", "cardboard"),
        ),
    )


def mark_regulator(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="regulator-mark",
            title="Record where the regulator screw stands",
            steps=("Count the threads showing beyond the lock nut; mark screw and body; photograph. Do not turn it.",),
            after=("open-up",),
            minutes=5,
            consumables=("inspection marker",),
            cautions=texts("regulator lock"),
        ),
    )


def opening(job: Job) -> tuple[Task, ...]:
    """The whole opening of a job that disturbs lines."""
    regulator = mark_regulator(job) if job.description.parts_of("regulator") else ()
    return (*make_safe(job), *open_up(job), *map_and_tag(job), *capture_fittings(job), *regulator)


def as_needed(job: Job) -> tuple[Task, ...]:
    """The whole opening when there is a list to close, else no more than the job names."""
    return opening(job) if job.suspects else light_opening(job)


def light_opening(job: Job) -> tuple[Task, ...]:
    """The opening of a job that loosens nothing but what it names."""
    return (*make_safe(job), *open_up(job))
