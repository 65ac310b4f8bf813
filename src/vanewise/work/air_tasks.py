"""Lines, filters, regulator, valves: what carries the air, cleaned, replaced and proved."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from vanewise.aircraft.description import Line
from vanewise.contamination.plumbing import REGULATOR_FILTER_KIND, TAP_KIND
from vanewise.quantities import PA_PER_INHG, shown
from vanewise.wording import listed, sentence
from vanewise.work.cautions import texts
from vanewise.work.hose_map import bore_words, length_words
from vanewise.work.job import Job
from vanewise.work.types import Task

OTHER_BODIES: Final = ("boots valve", "relief valve", "de-ice boots", "door seal", "standby pump", "intake source")
"""Kinds that share the air and are cleaned as a manifold is: wiped, looked into, capped."""

_FILTER_KINDS = ("intake filter", "inline filter", "inlet filter")


def trace_look(job: Job) -> tuple[Task, ...]:
    """The looks that would shorten the list, before anything on it is spent money on."""
    if job.scope is None or len(job.suspects) < 2:
        return ()
    looks = tuple(sentence(look.what) for look in job.scope.looks)
    return (
        Task(
            id="trace-look",
            title="Follow the debris: how far did it get?",
            steps=(
                "Borescope both ends of each line on the list, nearest to the source first; white cloth through it.",
                *looks,
                (
                    "Write down where the traces end, how that was seen, and photograph it. A finding that shortens "
                    "the list "
                    "makes a new package with this one as parent."
                ),
            ),
            after=("pump-off", "tags"),
            minutes=20.0 + 5.0 * len(job.scope.looks),
            tools=("borescope", "lamp", "white lint-free cloth", "rod"),
            cautions=texts("cutting hose", "compressed air"),
            hold_point="Findings written down before parts are ordered.",
            why=f"{len(job.suspects)} parts are on the list by the upper bound; only sight takes one off.",
        ),
    )


def hoses(job: Job) -> tuple[Task, ...]:
    """New hoses: the one the cause sits in, and every hose a pump has shed into."""
    line = job.place_line
    wanted = list(job.suspects_of("hose")) if job.source_is_pump else []
    if line is not None and line.material == "hose" and line.id not in wanted:
        wanted.append(line.id)
    chosen = tuple(hose for hose in job.description.lines if hose.id in wanted)
    if not chosen:
        return ()
    suspect = tuple(hose.id for hose in chosen if job.is_suspect(hose.id))
    return (
        Task(
            id="hoses",
            title=f"Replace {_count(len(chosen), 'hose')}",
            steps=(
                *(_hose_step(job, hose) for hose in chosen),
                (
                    "Cut square with a sharp blade, wash the crumbs out, look through it. Nothing slippery on the "
                    "end but "
                    "what the manual names."
                ),
                (
                    "Push past the bead, clamp behind the bead, no twist, bend no tighter than the hose sheet "
                    "allows, slack "
                    "for the engine, clear of heat and edges."
                ),
                (
                    "Write hose specification, lot or cure date on the sheet. Hoses of the same age elsewhere: look "
                    "at them "
                    "now."
                ),
            ),
            after=_after_looks(job),
            minutes=10.0 + 15.0 * len(chosen),
            parts=(
                *(
                    f"hose {bore_words(h.values['bore'].number)} bore, {length_words(h.values['length'].number)} "
                    f"({_tagged(job, h)})"
                    for h in chosen
                ),
                f"hose clamps, {2 * len(chosen)}",
            ),
            tools=("hose blade", "screwdriver for the clamps", "mirror"),
            cautions=texts("cutting hose", "hot"),
            closes=suspect,
            why=(
                "Common practice after a pump has shed: hoses are replaced, not cleaned."
                if suspect
                else f"{job.mode_name}: {job.label(job.place)}."
            ),
        ),
    )


def hoses_looked_through(job: Job) -> tuple[Task, ...]:
    """Hoses on the list for something milder than a broken pump: drawn through, and renewed only where they ask."""
    if job.source_is_pump:
        return ()
    chosen = tuple(hose for hose in job.suspects_of("hose") if hose != job.place)
    if not chosen:
        return ()
    return (
        Task(
            id="hose-look",
            title=f"Look and draw through {_count(len(chosen), 'hose')}",
            steps=(
                (
                    f"{listed(tuple(job.label(hose) for hose in chosen))}: look in at both ends, bend and squeeze, "
                    f"white "
                    "cloth through twice."
                ),
                "Loose liner, crack, hard spot or a trace the cloth does not take: renew it.",
            ),
            after=_after_looks(job),
            minutes=10.0 + 5.0 * len(chosen),
            consumables=("white lint-free cloth", "clean caps"),
            tools=("pull-through", "borescope", "lamp"),
            cautions=texts("cutting hose", "compressed air"),
            closes=chosen,
        ),
    )


def tubes(job: Job) -> tuple[Task, ...]:
    """Hard lines and the dead-end lines to gauge and lamp, drawn through."""
    line = job.place_line
    wanted = list(job.suspects_of("tube"))
    if line is not None and line.material == "tube" and line.id not in wanted:
        wanted.append(line.id)
    tasks: list[Task] = []
    if wanted:
        names = listed(tuple(job.label(element) for element in wanted))
        at_fault = line is not None and line.id in wanted
        tasks.append(
            Task(
                id="tubes",
                title=f"Clean {names}" if not at_fault else f"Renew or clean {names}",
                steps=(
                    (
                        "Take it out where it comes out. Cloth drawn through, rinse with the cleaner the manual "
                        "names, dry."
                    ),
                    "Look at beads, dents, chafe, thin or corroded places; a damaged tube is replaced.",
                    "White cloth through twice: no grey. Cap both ends until it goes back.",
                ),
                after=_after_looks(job),
                minutes=10.0 + 15.0 * len(wanted),
                parts=(f"tube for {job.label(job.place)}, if it is damaged",) if at_fault else (),
                consumables=("cleaner the manual names", "white lint-free cloth", "clean caps"),
                tools=("pull-through", "lamp", "borescope"),
                cautions=texts("solvent", "compressed air"),
                closes=tuple(job.suspects_of("tube")),
            )
        )
    taps = job.suspects_of(TAP_KIND)
    if taps:
        tasks.append(
            Task(
                id="tap-lines",
                title=f"Draw through {listed(tuple(job.label(tap) for tap in taps))}",
                steps=(
                    "Disconnect at the gauge or switch first; cap it.",
                    (
                        "White cloth or clear trap through twice: no grey. Connect again, finger-tight plus what the "
                        "manual "
                        "says."
                    ),
                ),
                after=_after_looks(job),
                minutes=10.0 + 5.0 * len(taps),
                consumables=("white lint-free cloth",),
                tools=("pull-through", "clear trap"),
                cautions=texts("compressed air"),
                closes=taps,
            )
        )
    return tuple(tasks)


def manifolds(job: Job) -> tuple[Task, ...]:
    """Manifolds, restrictors, other users and check valves on the list, or the check valve the cause sits in."""
    blocks = job.suspects_of("manifold", "restrictor", *OTHER_BODIES)
    tasks: list[Task] = []
    if blocks:
        tasks.append(
            Task(
                id="manifolds",
                title=f"Clean {listed(tuple(job.label(block) for block in blocks))}",
                steps=("Wipe every port, look into each with the borescope: no grey, no chip. Cap until reconnected.",),
                after=_after_looks(job),
                minutes=10.0 + 5.0 * len(blocks),
                consumables=("white lint-free cloth", "clean caps"),
                tools=("borescope",),
                closes=blocks,
            )
        )
    valves = tuple(dict.fromkeys((*job.suspects_of("check valve"), *_place_of(job, "check valve"))))
    if valves:
        tasks.append(
            Task(
                id="check-valves",
                title=f"Check valve: {listed(tuple(job.label(valve) for valve in valves))}",
                steps=(
                    "Flap whole, seats, moves freely, shuts by hand, arrow the right way. A flap in doubt: replace.",
                    "Write what was found: it decides what lies beyond.",
                ),
                after=_after_looks(job),
                minutes=15.0 * len(valves),
                parts=tuple(f"{job.label(valve)}, if its flap is in doubt" for valve in valves),
                closes=tuple(valve for valve in valves if job.is_suspect(valve)),
            )
        )
    return tuple(tasks)


def regulator_clean(job: Job) -> tuple[Task, ...]:
    """Seat and chamber cleaned as the maker allows, new filter, the screw left where it is."""
    regulator = _regulator(job)
    if regulator is None:
        return ()
    own_filter = tuple(
        element.id for element in job.plumbing.elements.values() if element.kind == REGULATOR_FILTER_KIND
    )
    return (
        Task(
            id="regulator-clean",
            title=f"Clean {job.the(regulator)}, new filter on it",
            steps=(
                "Compare the screw with its record: threads showing as before.",
                (
                    "Open it only as its own manual allows; lift the diaphragm with something blunt and soft; no "
                    "metal on "
                    "the seat. Take grit off seat and chamber; look at the seat all round with a lamp."
                ),
                "Seat marked or cut: exchange, or a shop with a report.",
                *(("New filter on it; write hours and date on the housing.",) if own_filter else ()),
                "The screw stays where it is.",
            ),
            after=("regulator-mark", *_after_looks(job)),
            minutes=45,
            parts=tuple(job.label(element) for element in own_filter),
            renews=tuple(job.label(element) for element in own_filter),
            tools=("blunt plastic tool", "lamp", "magnifier"),
            cautions=texts("regulator lock", "solvent"),
            closes=job.suspects_of("regulator", REGULATOR_FILTER_KIND),
            hold_point="Seat seen clean and whole; screw where it was.",
        ),
    )


def regulator_on_list(job: Job) -> tuple[Task, ...]:
    """The regulator cleaned where debris can have reached it."""
    return regulator_clean(job) if job.suspects_of("regulator", REGULATOR_FILTER_KIND) else ()


def regulator_exchange(job: Job) -> tuple[Task, ...]:
    regulator = _regulator(job)
    if regulator is None:
        return ()
    return (
        Task(
            id="regulator-exchange",
            title=f"Exchange {job.the(regulator)}",
            steps=(
                "Do not run the engine with it: the suction climbs with engine speed.",
                (
                    "Off with it, ports capped; the other one on, its documents checked, its screw as delivered "
                    "until it is "
                    "set by the method below."
                ),
            ),
            after=("regulator-mark", "tags", "fitting-angles"),
            minutes=40,
            parts=(f"{job.label(regulator)}, with documents",),
            cautions=texts("over the band", "regulator lock", "thread sealant"),
            closes=job.suspects_of("regulator", REGULATOR_FILTER_KIND),
        ),
    )


def regulator_filter(job: Job) -> tuple[Task, ...]:
    regulator = _regulator(job)
    if regulator is None:
        return ()
    return (
        Task(
            id="regulator-filter",
            title=f"Renew the filter of {job.the(regulator)}",
            steps=(
                "Slide the old one off without shedding crumbs into the valve; bag it; look at it.",
                "Crumbled foam has gone to the pump: look at the seat and the pump inlet, and trace it from here.",
                "New one on; write hours and date on the housing.",
            ),
            after=("open-up",),
            minutes=15,
            parts=(f"filter for {job.the(regulator)}",),
            renews=(f"{job.label(regulator)} filter",),
            cautions=texts("regulator lock"),
        ),
    )


def filters(job: Job) -> tuple[Task, ...]:
    """Every filter on the list, and any the cause sits in; with a list, every filter there is."""
    if job.suspects:
        return filters_all(job)
    return _filters(job, _place_of(job, *_FILTER_KINDS))


def filters_all(job: Job) -> tuple[Task, ...]:
    """Every filter of the aircraft: after a shed, and before anybody may turn the regulator's screw."""
    return _filters(job, tuple(part.id for part in job.description.parts if part.kind in _FILTER_KINDS))


def filters_before_setting(job: Job) -> tuple[Task, ...]:
    """The filters as a condition of the regulator's screw: nobody sets it against a filter that is not new."""
    return tuple(
        msgspec.structs.replace(task, only_if="the regulator is to be set, or a filter is not known to be new")
        for task in filters_all(job)
    )


def _filters(job: Job, wanted: tuple[str, ...]) -> tuple[Task, ...]:
    """Renewed, the old one cut open."""
    if not wanted:
        return ()
    names = listed(tuple(job.label(element) for element in wanted))
    return (
        Task(
            id="filters",
            title=f"Renew the {names}",
            steps=(
                "Old one out in a bag; look at its seals and, where it has one, at its arrow, before it is moved.",
                "Cut it open over a tray and photograph the pleats: brown is dust or smoke, black is carbon.",
                "Black in pressure duty, or past a seal: the pump sheds; trace it before anything new goes on.",
                (
                    "Wipe the housing, new one in, seals whole, arrow towards the gyros. Write hours, date and "
                    "initials on "
                    "the housing, not on the paper; hang the filter tag."
                ),
            ),
            after=_after_looks(job) if job.suspects else ("open-up",),
            minutes=10.0 + 10.0 * len(wanted),
            parts=tuple(f"{job.label(element)} element" for element in wanted),
            renews=tuple(job.label(element) for element in wanted),
            consumables=("filter tag", "bag"),
            tools=("knife", "tray", "camera"),
            cautions=texts("carbon dust"),
            closes=tuple(element for element in wanted if job.is_suspect(element)),
            hold_point="Old filter cut open, what was found written down with its photograph.",
        ),
    )


def find_leak(job: Job) -> tuple[Task, ...]:
    """The leak at its place: seen, mended, proved gone."""
    line = job.place_line
    place = job.the(job.place)
    steps = [
        f"Show the leak at {place} itself: film, feel, suction by section. A leak not seen is not mended.",
        "Joint: take it apart, look at bead, hose end and clamp, put it together again as the map says.",
    ]
    if line is None:
        steps.append("Body cracked: replace it. Cap a port that joins nothing with a proper cap.")
    return (
        Task(
            id="leak",
            title=f"Mend the leak at {place}",
            steps=tuple(steps),
            after=("tags",),
            minutes=30,
            tools=("soap film", "suction source with flow meter, limited to 6 inHg", "clean caps"),
            cautions=texts("compressed air", "workshop suction"),
        ),
    )


def leak_proof(job: Job) -> tuple[Task, ...]:
    """Everything but the pump proved tight before the engine runs: by suction, or by regulated air without the "
    "gyros."""
    return (_suction_proof(job) if job.description.duty == "suction" else _air_proof(),)


def _suction_proof(job: Job) -> Task:
    return Task(
        id="leak-proof",
        title="Prove the lines tight before the engine runs",
        steps=(
            (
                "Suction source with flow meter at the hose that goes to the pump, 5 inHg at the gauge, gyros "
                "connected, "
                "regulator taken out and its port blanked: read the flow."
            ),
            f"{_expected_flow(job)} More than that is a leak: go section by section.",
            "Then with the regulator back, its air intake open and covered: the difference is its seat.",
            "Write port, reading and flow down.",
        ),
        after=("reconnect",),
        minutes=45,
        tools=("suction source limited to 6 inHg", "flow meter", "calibrated differential gauge", "clean caps"),
        cautions=texts("workshop suction", "spinning gyros"),
        hold_point="Flow within what is expected, figures written down.",
    )


def _air_proof() -> Task:
    return Task(
        id="leak-proof",
        title="Prove the lines tight before the engine runs",
        steps=(
            "Plumbing only: gyros, gauge, lamp switch and regulator off the section under test, their ports capped.",
            (
                "Clean dry air, regulated, relief valve a little above 2.5 psi (5 inHg): open slowly, hold 2 "
                "minutes, soap "
                "film on every joint, wipe it off, release slowly. A crack that pressure closes does not show."
            ),
            "Gyros and gauge connected again by the map; at first idle soap film on the joints that were opened.",
            "Write section, reading and what was seen down.",
        ),
        after=("reconnect",),
        minutes=45,
        tools=("regulated air with relief valve", "calibrated differential gauge", "soap film", "clean caps"),
        cautions=texts("compressed air"),
        hold_point="No bubble at any joint, every cap taken off again and counted.",
    )


_TEST_PA = 5.0 * PA_PER_INHG


def _expected_flow(job: Job) -> str:
    """Air use of the gyros at the test difference: a jet's flow goes with the square root of its drop."""
    flows = [
        gyro.values["reference_flow"].number * math.sqrt(_TEST_PA / gyro.values["reference_drop"].number)
        for gyro in job.gyros
        if "reference_flow" in gyro.values and "reference_drop" in gyro.values
    ]
    if not flows:
        return "Compare with what the instruments' own sheets say they draw."
    names = listed(tuple(gyro.label for gyro in job.gyros))
    return f"With 5 inHg across them {names} draw about {shown(sum(flows), 'flow')} by their figures here."


def gauge_compare(job: Job) -> tuple[Task, ...]:
    return (
        Task(
            id="gauge-compare",
            title="Prove the panel gauge against a test gauge",
            steps=(
                "Engine off: pointer on its stop. Tee a calibrated gauge in at the panel gauge's own two points.",
                "Read both through the sweep, up and down; write the differences beside the readings.",
                "Tee out, line closed again, looked at for a leak.",
            ),
            after=("reconnect",),
            minutes=20,
            tools=("calibrated differential gauge", "tee and adapters"),
            cautions=texts("engine run", "over the band"),
        ),
    )


def _regulator(job: Job) -> str | None:
    regulators = [part.id for part in job.description.parts_of("regulator")]
    if job.place in regulators:
        return job.place
    return regulators[0] if regulators else None


def _place_of(job: Job, *kinds: str) -> tuple[str, ...]:
    element = job.plumbing.elements.get(job.place)
    return (element.id,) if element is not None and element.kind in kinds else ()


def _after_looks(job: Job) -> tuple[str, ...]:
    return ("trace-look", "tags")


def _hose_step(job: Job, hose: Line) -> str:
    return f"{_tagged(job, hose)}: {bore_words(hose.values['bore'].number)} bore, cut to the old one's length."


def _tagged(job: Job, hose: Line) -> str:
    tag = job.tag(hose.id)
    return f"tag {tag.number}, {hose.label}" if tag else hose.label


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'s' if number != 1 else ''}"
