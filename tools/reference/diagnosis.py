"""Reference of the diagnosis: failure modes, and the words that evidence may use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tools.reference._tables import code, table
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.modes.base import FailureMode, Severity
from vanewise.diagnosis.vocabulary import ACCESS_MINUTES, CHECKS, EVENTS, SYMPTOMS, Check, EventWord, Symptom
from vanewise.provenance import JUDGEMENT


def pages() -> dict[str, str]:
    return {"modes.md": _modes(), "symptoms.md": _symptoms(), "events.md": _events(), "checks.md": _checks()}


def _modes() -> str:
    rows = [(f"[{mode.id}](#{mode.id})", mode.name, mode.level, " and ".join(mode.duties)) for mode in MODES.values()]
    return "\n\n".join(
        [
            "# Failure modes",
            (
                "What an answer can name. A mode changes the air network, or nothing in it (a bearing, an autopilot, a "
                "gauge); it has a rate before any evidence, a range of severity, what a person notices of it, and the "
                "checks that show or refute it. Rates and chances are **judgement of the authors** unless another "
                "source is named: they matter against each other, and an owner's own experience replaces them. "
                "`vanewise modes --json` gives the same; `vanewise plan --cause` takes the id."
            ),
            table(("mode", "name", "level", "duty"), rows),
            *(_mode(mode) for mode in MODES.values()),
        ]
    )


def _mode(mode: FailureMode) -> str:
    facts = [
        ("reports per 1,000 h", f"{mode.rate.number:g} ({mode.rate.standing})"),
        ("changes the network", "yes" if mode.changes_network() else "no"),
        ("severity", _severity(mode.severity)),
        ("more likely after", _factors(mode.contexts)),
        ("where nothing else led to it", _factors(mode.source_contexts)),
        ("noticed by itself", _chances(mode.signs)),
        ("stays", "until it is repaired: nobody sees the supply right again" if mode.stays else ""),
        ("shown by", _links(mode.confirms)),
        ("refuted by", _links(mode.refutes)),
        ("sheds", f"{mode.sheds.debris}, {' and '.join(mode.sheds.events)}" if mode.sheds else ""),
        ("source", "" if mode.source == JUDGEMENT else str(mode.source)),
    ]
    rows = [(name, text) for name, text in facts if text]
    return f"## {mode.id}\n\n{mode.name[:1].upper()}{mode.name[1:]}: {mode.meaning}.\n\n{table(('', ''), rows)}"


def _severity(severity: Severity) -> str:
    if severity.kind == "none":
        return ""
    return f"{severity.low:g} to {severity.high:g} {severity.unit}, {severity.kind}: {severity.meaning}".replace(
        "  ", " "
    )


def _factors(contexts: Mapping[str, float]) -> str:
    return "; ".join(f"[{word}](events.md#{word}) × {factor:g}" for word, factor in contexts.items())


def _chances(signs: Mapping[str, float]) -> str:
    return "; ".join(f"[{word}](symptoms.md#{word}) {chance:.0%}" for word, chance in signs.items())


def _links(checks: Iterable[str]) -> str:
    return ", ".join(f"[{name}](checks.md#{name})" for name in checks)


def _symptoms() -> str:
    groups = list(dict.fromkeys(symptom.group for symptom in SYMPTOMS.values()))
    return "\n\n".join(
        [
            "# Symptoms",
            (
                "Words for `symptom` under `[[remarks]]` of [an evidence file](evidence.md): what a person notices, or "
                "looks for and does not find (`present = false`). What is not mentioned is not evidence. *Without "
                "cause* is how often it is noticed with nothing wrong that would cause it. A symptom that follows from "
                "pressures is computed from them, so ten remarks about one weak supply do not count as ten proofs. "
                "Chances are judgement of the authors."
            ),
            *(f"## {group[:1].upper()}{group[1:]}\n\n{_symptom_table(group)}" for group in groups),
        ]
    )


def _symptom_table(group: str) -> str:
    rows = [
        (_anchored(symptom.id), symptom.words, _follows(symptom), _without_cause(symptom))
        for symptom in SYMPTOMS.values()
        if symptom.group == group
    ]
    return table(("symptom", "in words", "follows from", "without cause"), rows)


def _without_cause(symptom: Symptom) -> str:
    if symptom.of_what_stays is None:
        return f"{symptom.base:.0%}"
    return f"{symptom.base:.0%}; {symptom.of_what_stays:.1%} under a [mode](modes.md) that stays, of the only pump"


def _follows(symptom: Symptom) -> str:
    drives = [(side, drive) for side, drive in (("below", symptom.drive), ("above", symptom.over)) if drive is not None]
    if drives:
        ways = [f"{side} about {drive.threshold_inhg:g} inHg, {', '.join(drive.at)}" for side, drive in drives]
        rest = "; the failure mode itself" if symptom.drive is None else ""
        return f"drive of the {symptom.instrument} {', or '.join(ways)}{rest}"
    if symptom.gauge is not None:
        word = {"lamp": "the lamp", "zero": "the gauge at zero", "fallen": "a reading fallen against a sound one"}
        word["risen"] = "a reading risen against a sound one"
        return f"{word.get(symptom.gauge.side, f'a {symptom.gauge.side} gauge')}, {symptom.gauge.at}"
    return "seen or tried" if symptom.direct else "the failure mode itself"


def _events() -> str:
    rows = [(_anchored(event.id), event.words, _fades(event), _changes(event)) for event in EVENTS.values()]
    return "\n\n".join(
        [
            "# Events",
            (
                "Words for `kind` under `[[events]]` of [an evidence file](evidence.md): what was done to the aircraft "
                "or happened to it, which makes some [modes](modes.md) more likely. An event has its full weight for "
                "the first sixth of the hours it fades over, then less and less."
            ),
            table(("event", "in words", "fades over", "from then on"), rows),
        ]
    )


def _fades(event: EventWord) -> str:
    return "does not fade" if event.fades_h is None else f"{event.fades_h:g} h"


def _changes(event: EventWord) -> str:
    another = f"another {' and '.join(event.changes)} than in earlier readings" if event.changes else ""
    return "; ".join(text for text in (another, event.caution) if text)


def _checks() -> str:
    rows = [(f"[{check.id}](#{check.id})", check.name, f"{check.minutes:g} min") for check in CHECKS.values()]
    access = [(name, f"{minutes:g} min") for name, minutes in ACCESS_MINUTES.items()]
    return "\n\n".join(
        [
            "# Checks",
            (
                "Words for `check` under `[[checks]]` of [an evidence file](evidence.md), with their outcomes. Minutes "
                "are hands-on and **judgement of the authors**; getting at things is counted once for all checks that "
                "need it. Who may do what is decided by the local rules; methods by the aircraft's own manuals, which "
                "come first."
            ),
            table(("check", "what is done", "takes"), rows),
            "Getting there:",
            table(("access", "takes"), access),
            *(_check(check) for check in CHECKS.values()),
        ]
    )


def _check(check: Check) -> str:
    facts = [
        ("minutes", f"{check.minutes:g}" + (", and a shop's days" if check.elsewhere else "")),
        ("access", ", ".join(check.access)),
        ("tools", ", ".join(check.tools)),
        ("who", check.who),
        ("before it", "; ".join(check.preconditions)),
        ("result", _result(check)),
        (
            "confirms, proved both ways" if check.act else "sees directly",
            "; ".join(f"{outcome}: [{mode}](modes.md#{mode})" for outcome, mode in check.confirms.items()),
        ),
    ]
    outcomes = [(code(outcome.id), outcome.words) for outcome in check.outcomes]
    blocks = [f"## {check.id}", f"{check.name[:1].upper()}{check.name[1:]}. {check.method}".strip()]
    blocks += [f"**Caution:** {caution}" for caution in check.cautions]
    blocks.append(table(("", ""), [(name, text) for name, text in facts if text]))
    blocks += [table(("outcome", "in words"), outcomes)] if outcomes else []
    return "\n\n".join(blocks)


def _result(check: Check) -> str:
    return {
        "table": "an outcome, below",
        "cover test": "`before` and `covered`, as pressures",
        "suction flow": "`value`, as a flow, with `place` and `suction`",
        "run-up": "one reading under `[[readings]]`, with its `rpm`",
        "sweep": "readings under `[[sweeps]]`",
        "gauge across instrument": "`value`, as a pressure, with `place` and `rpm`",
        "filter drop": "`value`, as a pressure, with `place` and `rpm`",
        "capped sweep": "readings with the other instrument capped (`under`)",
    }[check.kind]


def _anchored(name: str) -> str:
    """A row that a link can point at."""
    return f'<a id="{name}"></a>{code(name)}'
