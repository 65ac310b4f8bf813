"""Answers in words for a terminal: plain lines, units on every number, nothing that only colour could tell."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from vanewise.quantities import M_PER_IN, inhg, shown
from vanewise.wording import capital

if TYPE_CHECKING:
    from vanewise.aircraft.answers import Start
    from vanewise.aircraft.description import AircraftDescription
    from vanewise.aircraft.layouts import LayoutInfo
    from vanewise.contamination import Scope
    from vanewise.diagnosis.types import Cause, Causes, EvidenceWeight, NextCheck
    from vanewise.groundrun import GroundRunPlan, GroundRunVerdict
    from vanewise.jobs.shapes import Checked, Mode, Swept
    from vanewise.network import Sweep
    from vanewise.network.band import Band
    from vanewise.watch.types import WearForecast
    from vanewise.work.types import WorkPackage

WIDTH = 100


def wrapped(text: str, indent: str = "  ") -> str:
    """A paragraph, indented, its following lines aligned."""
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent)


def bullets(items: Iterable[str], mark: str = "- ") -> str:
    """A list, one item a paragraph."""
    lead = " " * len(mark)
    return "\n".join(
        textwrap.fill(item, WIDTH, initial_indent=f"  {mark}", subsequent_indent=f"  {lead}") for item in items
    )


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Columns aligned, first to the left and the rest to the right."""
    body = [tuple(head), *(tuple(row) for row in rows)]
    widths = [max(len(row[i]) for row in body) for i in range(len(head))]
    lines = []
    for row in body:
        cells = [row[0].ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True))]
        lines.append("  " + "  ".join(cells).rstrip())
    return "\n".join(lines)


def layouts(infos: Sequence[LayoutInfo]) -> str:
    blocks = [f"{info.name}\n{wrapped(info.title + ': ' + info.meaning + '.')}" for info in infos]
    return "\n".join([*blocks, "", "Write one to a file with: vanewise new LAYOUT FILE"])


def validated(checked: Checked) -> str:
    duty = f"{checked.duty} duty{'' if checked.duty_confirmed else ' (assumed, not confirmed)'}"
    lines = [f"{checked.name}: sound. {checked.parts} parts, {checked.lines} lines, {duty}."]
    if checked.remarks:
        lines.append("Worth a look:")
        lines.append(bullets(f"{item.where}: {item.found}. Next: {item.next_step}." for item in checked.remarks))
    if checked.assumed:
        lines.append(
            f"{len(checked.assumed)} numbers are examples, not this aircraft's own; overwrite them from the aircraft "
            "and its manual:"
        )
        lines.append(bullets(f"{item.where}: {item.value} ({item.source})" for item in checked.assumed[:12]))
        if len(checked.assumed) > 12:
            lines.append(f"  and {len(checked.assumed) - 12} more; --json lists them all.")
    return "\n".join(lines)


def swept(description: AircraftDescription, sweep: Swept) -> str:
    blocks = [_one_sweep(description, sweep)]
    if sweep.other_connection is not None:
        blocks.append("The gauge's connection is unknown, so here is the other usual one as well.")
        blocks.append(_one_sweep(description, sweep.other_connection))
    blocks += [wrapped(remark) for remark in sweep.remarks]
    return "\n\n".join(blocks)


def _one_sweep(description: AircraftDescription, sweep: Sweep) -> str:
    solved = next((point for point in sweep.points if point.gauge_inhg is not None), None)
    gyros = list(solved.drops_inhg) if solved else []
    pumps = list(solved.pump_load_inhg) if solved else []
    head = ["rpm", "gauge inHg", *(f"{gyro} inHg" for gyro in gyros), *(f"{pump} load inHg" for pump in pumps), "lamp"]
    rows = []
    for point in sweep.points:
        if point.gauge_inhg is None:
            rows.append([f"{point.rpm:.0f}", "not solved", *("" for _ in head[2:])])
            continue
        lamp = {True: "on", False: "out", None: "-"}[point.lamp_on]
        drops = [_hundredths(point.drops_inhg[gyro]) for gyro in gyros]
        loads = [_hundredths(point.pump_load_inhg[pump]) for pump in pumps]
        rows.append([f"{point.rpm:.0f}", _hundredths(point.gauge_inhg), *drops, *loads, lamp])
    lines = [
        (
            f"{description.name}, {sweep.altitude_ft:.0f} ft, {shown(sweep.temperature_k, 'temperature')}; gauge from "
            f"{sweep.gauge_high} to {sweep.gauge_low}"
        ),
        table(head, rows),
    ]
    if sweep.shape is not None:
        lines.append(
            f"  Reading at 1000 rpm {sweep.r1000_inhg:.1f} inHg; knee at about {sweep.shape.knee_rpm:.0f} rpm; "
            f"slope above it {sweep.shape.slope_inhg_per_1000_rpm:.1f} inHg per 1000 rpm."
        )
    if sweep.lamp_out_rpm is not None:
        lines.append(f"  The lamp goes out at about {sweep.lamp_out_rpm:.0f} rpm, rising.")
    lines.append(wrapped("The gauge does not show what the pump works against: that is the column of load."))
    return "\n".join(lines)


def _hundredths(number: float) -> str:
    """Two decimals, and no minus before a nought."""
    return f"{round(number, 2) + 0.0:.2f}"


def modes(known: Sequence[Mode]) -> str:
    return "\n".join(f"{mode.id}\n{wrapped(f'{mode.name}: {mode.meaning}')}" for mode in known)


def caused(causes: Causes) -> str:
    """The answer with its doubt first, what must not wait, then the causes, what each rests on, and the next check."""
    from vanewise.chances import about as chance
    from vanewise.diagnosis.modes import NOTHING_WRONG

    names = [cause.name for cause in causes.named]
    if causes.counted:
        names.append(f"and {len(causes.counted)} more, together {chance(causes.counted_chance)}")
    group = "; ".join(names)
    lead = "Most likely the source"
    if causes.group[:1] == (NOTHING_WRONG.id,):
        lead = "Most likely"
    if causes.undecided:
        lead = "Undecided between" if len(causes.group) > 1 else "Not decided yet, likeliest"
    lines = [wrapped(f"{lead}: {group}.", "")]
    if causes.level:
        note = f": {causes.level_note}" if causes.level_note else ""
        said = f"How far it goes for sure: {causes.level}, {chance(causes.levels[causes.level])}{note}."
        lines.append(wrapped(said, ""))
    if not causes.refined:
        lines.append("First answer, from the bank alone; a refined one replaces it.")
    if causes.cautions:
        lines.append("What must not wait:")
        lines.append(bullets(causes.cautions))
    for cause in causes.causes:
        if cause.probability < 0.01 and cause.present < 0.05:
            continue
        sure = f"; confirmed, {cause.confirmed_by}" if cause.confirmed else ""
        rough = "; count is rough" if cause.count_is_rough else ""
        place = f" ({cause.part.replace('_', ' ')})" if cause.part else ""
        lines.append(wrapped(f"{cause.name}{place}: {_how_likely(cause)}{rough}{sure}", ""))
        lines.append(bullets(weight.words for weight in _telling(cause)))
    if causes.other_remarks:
        lines.append("To be known:")
        lines.append(bullets(causes.other_remarks))
    lines += _to_do(causes)
    if causes.rests_on_priors:
        lines.append("This order rests on how common each is, not on your readings.")
    if causes.engine == "numpy":
        lines.append(f"Computed on numpy with {causes.rows_per_hypothesis} states a hypothesis: a smaller bank.")
    return "\n".join(line for line in lines if line)


def _how_likely(cause: Cause) -> str:
    from vanewise.chances import about as chance
    from vanewise.diagnosis.modes import NO_THING, NOTHING_WRONG

    if cause.id == NOTHING_WRONG.id:
        return f"{chance(cause.probability)}, which is no finding that it is fit to fly"
    if cause.id in NO_THING:
        return chance(cause.probability)
    return f"as the source {chance(cause.probability)}, there at all {chance(cause.present)}"


def _to_do(causes: Causes) -> list[str]:
    """What to look at next, why to stop, what is to be found out before another is fitted, what would change it."""
    lines: list[str] = []
    if causes.next_checks:
        lines.append("Worth doing next:")
        lines += [_check(check) for check in causes.next_checks[:3]]
    if causes.stop:
        lines.append(wrapped(capital(causes.stop), ""))
    for question in causes.before_another:
        lines.append(f"{question.heading}:")
        lines += [wrapped(question.why), wrapped(f"Caution: {question.caution}", "    ")]
        lines += [_check(check) for check in question.checks]
    if causes.changes_mind:
        lines.append("What would change this answer:")
        lines.append(bullets(causes.changes_mind))
    return lines


def _check(check: NextCheck) -> str:
    """One check worth doing; below it what it needs, how it is done and its cautions, each on a line of its own."""
    why = check.why.rstrip(".")
    what = bullets([f"{check.title}, about {check.minutes:.0f} min, {check.who}. {capital(why)}."])
    below = [f"Needs: {'; '.join(check.preconditions)}."] if check.preconditions else []
    below += [f"How: {check.method}"] if check.method else []
    below += [f"Caution: {caution}" for caution in check.cautions]
    return "\n".join([what, *(wrapped(line, "    ") for line in below)])


def _telling(cause: Cause) -> list[EvidenceWeight]:
    """The weightiest evidence for and against one cause."""
    telling = [weight for weight in cause.evidence if abs(weight.log10_odds) >= 0.1]
    return sorted(telling, key=lambda weight: -abs(weight.log10_odds))[:4]


def banded(band: Band) -> str:
    """The band of a first sweep, and what widens it most."""
    rows = [
        [f"{point.engine_rpm:.0f}", *(f"{inhg(v):.1f}" for v in (point.low_pa, point.middle_pa, point.high_pa))]
        for point in band.points
    ]
    lines = [
        "A band, because much is assumed: 4 of 5 aircraft like this read between low and high (inHg).",
        table(["rpm", "low", "middle", "high"], rows),
        "What widens it most:",
        bullets(widener.words for widener in band.wideners),
        wrapped(band.offer, ""),
    ]
    if band.other_connection is not None:
        lines += ["With the gauge on the other usual connection:", banded(band.other_connection)]
    return "\n".join(lines)


def planned(package: WorkPackage) -> str:
    """The plan at a glance: its tasks in order, its gates, what to get."""
    lines = [
        (
            f"{package.cause_name}: {len(package.tasks)} tasks, about {package.minutes / 60:.0f} h at the aircraft. "
            f"Package {package.id[:12]}."
        )
    ]
    lines.append(
        bullets(
            f"{task.title} ({task.minutes:.0f} min, {task.who})" + (f"; only if {task.only_if}" if task.only_if else "")
            for task in package.tasks
        )
    )
    lines.append("Gates, each passed only when all it needs is there, or by name and reason:")
    lines.append(bullets(f"{gate.title} ({len(gate.needs)} needed)" for gate in package.gates))
    lines.append("To get:")
    lines.append(bullets(package.parts))
    lines.extend(wrapped(remark, "") for remark in package.remarks)
    return "\n".join(lines)


def proved(plan: GroundRunPlan, verdict: GroundRunVerdict) -> str:
    """The verdict point by point, with margin, then what it rests on."""
    overall = {"pass": "PASS", "fail": "FAIL", "not shown": "NOT SHOWN: something needed was not read"}
    lines = [f"Ground run: {overall[verdict.overall]}"]
    for point in verdict.points:
        said = [f"read {point.reading}", f"expected {point.expected}", point.margin]
        if point.verdict == "not shown" and point.would_expose:
            said.append(f"would expose {point.would_expose}")
        lines.append(wrapped(f"{point.verdict}: {point.what}: " + "; ".join(part for part in said if part)))
    lines.extend(wrapped(remark, "") for remark in verdict.remarks)
    lines.append("Rests on:")
    lines.append(bullets(plan.basis))
    lines.append("Cautions of the run:")
    lines.append(bullets(plan.cautions))
    lines.append("This computes. A certificated person decides and signs.")
    return "\n".join(lines)


def scoped(scope: Scope) -> str:
    lines = [f"{len(scope.suspects)} suspects. Nothing new is fitted until each is closed."]
    for suspect in scope.suspects:
        lines.append(f"{suspect.label}")
        lines.append(wrapped(suspect.reason))
        lines.append(wrapped("Closed by: " + "; or ".join(suspect.proof)))
    if scope.reach_upper_m is not None:
        metres = scope.reach_upper_m
        lines.append(
            f"Reach back from the pump, at most: {metres:.2f} m ({metres / M_PER_IN:.0f} in) of the bore there."
        )
    if scope.shielded:
        lines.append("Not reached:")
        lines.append(bullets(f"{scope.labels.get(part, part)}: {why}" for part, why in scope.shielded))
    if scope.questions:
        lines.append("Ask or look, because it changes the list:")
        lines.append(bullets(scope.questions))
    lines.extend(wrapped(remark, "") for remark in scope.remarks)
    return "\n".join(lines)


def begun(start: Start) -> str:
    """What a description from ten answers rests on."""
    lines = [f"{start.description.name}: {start.description.duty} duty. Taken as assumed, because nobody said:"]
    lines.append(
        bullets(f"question {number}, {what}: {taken} ({source})" for number, what, taken, source in start.assumed)
    )
    lines.extend(str(remark) for remark in start.remarks)
    lines.append("The first output is a band, not a line. A baseline sweep of this aircraft narrows it most.")
    return "\n".join(lines)


def worn(pump: str, forecast: WearForecast) -> str:
    """The forecast, words first, then what it assumes."""
    lines = [f"{pump}, {forecast.hours_now:.1f} h:"]
    lines.append(bullets(forecast.words))
    lines.extend(wrapped(remark, "") for remark in forecast.remarks)
    lines.append("Assumed, to be overwritten by the pump's own manual or your own data:")
    lines.append(bullets(f"{name}: {value} ({standing})" for name, value, standing in forecast.assumptions))
    return "\n".join(lines)
