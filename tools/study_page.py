"""Write the measured parts of the page on finding the source, docs/explanation/diagnosis.md, from the files of figures.

What stands between the marks of the page is made here: the study's figures, and how soon an answer is there. What they
mean is written by hand around it. A test holds the page to the files.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

ROOT = Path(__file__).resolve().parent.parent
STUDY = ROOT / "benches" / "diagnosis_study.json"
RESULTS = ROOT / "benches" / "results.json"
PAGE = ROOT / "docs" / "explanation" / "diagnosis.md"
MARKS: Final = (
    (
        "<!-- The study's figures: made by `python -m tools.study_page`. -->",
        "<!-- End of the study's figures. -->",
    ),
    (
        "<!-- How soon: made by `python -m tools.study_page`. -->",
        "<!-- End of how soon. -->",
    ),
)
SPEEDS: Final = (
    ("first answer after a new reading, bank warm", "the first answer"),
    ("refined answer with weights and next checks, bank warm", "the refined one"),
    ("bank of one aircraft, warm kernel", "the bank"),
)
ARMS: Final = ("model true", "gauge biased", "other drive ratio", "defaults wrong")
COLUMNS: Final = (
    "truth",
    "cases",
    "calibration error",
    "that of a perfect answer",
    "true repair under 1 in 100",
    "the answers' own chance of that",
    "first is right",
    "level named",
    "level right when named",
    "right more often than said",
)
WRONG_TRUTHS: Final = (
    "*Gauge biased*: half an inch off beyond what a gauge's own spread allows. *Other drive ratio*: 13 to 15 % off "
    "what the description states. *Defaults wrong*: displacement, slip, droop, seat area and lengths each 30 % off. "
    "The calibration error is that of the first repair over ten bins of equal count. With few cases it cannot come out "
    "at nothing even for a perfect answer: what it comes to when truths are drawn from the confidences themselves "
    "stands beside it. So it is with truths under 1 in 100: what the answers give to all repairs there together is how "
    "often a perfect answer would leave the truth among them. *Right more often than said* is the share right less the "
    "mean confidence: above nothing, the answers are too modest."
)

Figure = Mapping[str, float | None]


def _number(figure: Figure, form: str, scale: float = 1.0, unit: str = "") -> str:
    """``0.032 (0.025 to 0.063)``; a dash where there is no finite value."""

    def one(name: str) -> str:
        number = figure[name]
        return "-" if number is None else format(scale * number, form)

    return f"{one('value')}{unit} ({one('low')} to {one('high')})"


def _percent(figure: Figure, form: str = ".0f") -> str:
    return _number(figure, form, 100.0, " %")


def _row(name: str, own: Mapping[str, Any]) -> str:
    cells = (
        name,
        str(own["cases"]),
        _number(own["calibration error"], ".3f"),
        f"{own['calibration error of a perfect answer']['mean']:.3f}",
        _percent(own["true cause under 1 in 100"], ".1f"),
        f"{100 * own['given to causes under 1 in 100']['value']:.1f} %",
        _percent(own["first is right"]),
        _percent(own["level named"]),
        _percent(own["level right when named"]),
        _percent(own["more often right than it says"], "+.0f"),
    )
    return f"| {' | '.join(cells)} |"


def _table(answers: Mapping[str, Any], prefix: str = "") -> str:
    head = f"| {' | '.join(COLUMNS)} |\n|{'---|' * len(COLUMNS)}"
    return "\n".join([head, *(_row(f"{prefix}{arm}", answers[arm]) for arm in ARMS)])


def _followed(own: Mapping[str, Any]) -> str:
    far = own["90th percentile"]
    return (
        f"isolated {_percent(own['isolated'])}, median {own['median minutes']:.0f} min, 90th percentile "
        f"{'-' if far is None else format(far, '.0f')} min, wrong isolations {_percent(own['wrong isolations'])}, "
        f"right repair within the first three when stopped {_percent(own['right part within three when stopped'])}"
    )


def _aims(study: Mapping[str, Any]) -> str:
    given, policy, half = study["refined answers"], study["policy"], study["policy, every minute figure off by half"]
    aims: list[tuple[bool, str]] = []
    for arm, most in zip(ARMS, (0.05, 0.10, 0.10, 0.10), strict=True):
        error = given[arm]["calibration error"]["value"]
        where = "the model true" if arm == "model true" else f"*{arm}*"
        aims.append((error <= most, f"calibration error {most:.2f} with {where} ({error:.3f})"))
        if arm != "model true":
            under = given[arm]["true cause under 1 in 100"]["value"]
            words = f"true repair under 1 in 100 in at most 2 % with *{arm}* ({100 * under:.1f} %)"
            aims.append((under <= 0.02, words))
    outside = given["fault outside"]["none or undecided"]["value"]
    level = given["model true"]["level right when named"]["value"]
    three = policy["proposed"]["right part within three when stopped"]["value"]
    kept = study["two equal causes"]["undecided kept"]
    aims += [
        (outside >= 0.80, f"80 % of faults outside not decided ({100 * outside:.0f} %)"),
        (level >= 0.90, f"level right in 90 % ({100 * level:.0f} %)"),
        (three >= 0.95, f"right part within three in 95 % once the policy stops ({100 * three:.0f} %)"),
        (
            policy["median ratio"] <= 0.60,
            f"median minutes at most 60 % of cheapest first ({100 * policy['median ratio']:.0f} %)",
        ),
        (
            half["median ratio"] <= 0.60,
            f"the same with every minute figure off by half ({100 * half['median ratio']:.0f} %)",
        ),
        (kept is not None and kept["value"] == 1.0, "'undecided' kept where two causes are equal"),
    ]
    held, missed = ("; ".join(words for is_held, words in aims if is_held is wanted) for wanted in (True, False))
    return (
        f"Against what is aimed at, by the refined answers. Held: {held or 'nothing'}. Not held: {missed or 'nothing'}."
    )


def _paragraphs(study: Mapping[str, Any]) -> Iterator[str]:
    given, policy, half = study["refined answers"], study["policy"], study["policy, every minute figure off by half"]
    outside, equal = given["fault outside"], study["two equal causes"]
    yield (
        f"The run that stands there judged {study['cases judged']} cases (seed {study['seed']}, reserved for it and "
        "not used before), 95 % bootstrap intervals in brackets. Every case got both answers: the bank's, and the "
        "refined one that the program puts in its place a second later. The refined answers:"
    )
    yield _table(given)
    yield "The first answers, of the bank alone:"
    yield _table(study["first answers"], "first: ")
    yield WRONG_TRUTHS
    kept = (
        "" if equal["undecided kept"] is None else f"; 'undecided' stood in {_percent(equal['undecided kept'])} of them"
    )
    yield (
        f"Faults outside the modes: {_percent(outside['none or undecided'])} of {outside['cases']} were left undecided "
        "or called *none of these*. Two equal causes (prior odds within 3, what was read speaks for neither, and no "
        "check still possible whose outcomes differ by a total variation over 0.05, the checks that would tell them "
        f"apart being impossible) led in {equal['with two equal causes']} of {equal['answers looked at']} answers "
        f"looked at, with {equal['checks still possible, median']:.0f} other checks still possible in the median{kept}."
    )
    yield (
        f"Following the checks: {policy['cases']} cases, with the same minutes, preconditions and stop rule. Proposed "
        f"order: {_followed(policy['proposed'])}. Cheapest first: {_followed(policy['cheapest first'])}. Ratio of the "
        f"medians: {_number(policy['interval'], '.2f')}. A case not isolated counts as infinite (a dash where that "
        "decides). With every minute figure off by up to half the medians are "
        f"{half['proposed']['median minutes']:.0f} and {half['cheapest first']['median minutes']:.0f} min, their ratio "
        f"{_number(half['interval'], '.2f')}."
    )
    yield _aims(study)


def how_soon(results: Mapping[str, Any]) -> str:
    """How long an answer takes, against what is aimed at: one paragraph."""
    own, machine = {entry["name"]: entry for entry in results["results"]}, results["machine"]

    def told(name: str) -> str:
        entry = own[name]
        figure = f"{entry['figure']:.3g}" if entry["unit"] == "s" else f"{entry['figure']:.0f}"
        return f"{figure} {entry['unit']}"

    def against(name: str) -> str:
        entry = own[name]
        verdict = "held" if entry["figure"] <= entry["at_most"] else "not held"
        return f"{told(name)} (at most {entry['at_most']:.0f} {entry['unit']} is aimed at: {verdict})"

    single = ", ".join(f"{words} takes {against(name)}" for name, words in SPEEDS)
    twins = ", ".join(f"{words} {told('twin pumps: ' + name)}" for name, words in SPEEDS)
    return (
        "On the demo's aircraft at 27 hours (15 readings, three lamp changes, two remarks, a baseline), with all code "
        f"compiled, on {machine['cores']} cores ({machine['processor']}): {single}. With twin pumps, which have half "
        f"as many hypotheses again: {twins}. `make bench` measures it and keeps it in `benches/results.json`."
    )


def measured(study: Mapping[str, Any]) -> str:
    """The study's figures, lines of prose cut as those of the page."""
    return "\n\n".join(part if part.startswith("|") else textwrap.fill(part, 120) for part in _paragraphs(study))


def with_figures(page: str, study: Mapping[str, Any], results: Mapping[str, Any]) -> str:
    """The page with what stands between its marks made anew. Raises ValueError where the marks are not there."""
    for (begin, end), text in zip(MARKS, (measured(study), textwrap.fill(how_soon(results), 120)), strict=True):
        before, found, rest = page.partition(begin)
        _, ended, after = rest.partition(end)
        if not (found and ended):
            raise ValueError(f"{PAGE.name}: expected the lines {begin} and {end}, found one or none of them")
        page = before + "\n\n".join((begin, text, end)) + after
    return page


def main() -> None:
    study, results = (json.loads(path.read_text(encoding="utf-8")) for path in (STUDY, RESULTS))
    PAGE.write_text(with_figures(PAGE.read_text(encoding="utf-8"), study, results), encoding="utf-8")


if __name__ == "__main__":
    main()
