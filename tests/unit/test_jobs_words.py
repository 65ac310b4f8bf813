"""Answers in words: aligned columns, units, no minus before a nought, doubt before names."""

from __future__ import annotations

import msgspec
import pytest

from vanewise.aircraft.layouts import make
from vanewise.diagnosis.types import Cause, Causes, EvidenceWeight, NextCheck
from vanewise.jobs import words
from vanewise.jobs.shapes import Swept
from vanewise.network.sweep import SweepPoint


def point(rpm: float, gauge: float | None, lamp: bool | None = None) -> SweepPoint:
    solved = gauge is not None
    return SweepPoint(
        rpm=rpm,
        altitude_ft=0.0,
        gauge_inhg=gauge,
        lamp_on=lamp,
        drops_inhg={"attitude": gauge} if gauge is not None else {},
        pump_load_inhg={"pump": gauge + 1.0} if gauge is not None else {},
        parts=(),
        radius_pa=0.0 if solved else None,
        status="converged" if solved else "not converged",
    )


def swept(*points: SweepPoint) -> Swept:
    return Swept(
        gauge_high="attitude.inlet",
        gauge_low="attitude.outlet",
        altitude_ft=400.0,
        temperature_k=288.15,
        points=points,
        r1000_inhg=None,
        shape=None,
        lamp_out_rpm=None,
    )


def rows(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.strip()[:1].isdigit()]


def test_columns_stand_under_each_other() -> None:
    text = words.table(["rpm", "gauge inHg"], [["700", "1.80"], ["12000", "10.25"]])
    lines = text.splitlines()
    assert len({len(line) for line in lines}) == 1
    assert lines[1].endswith("1.80") and lines[2].startswith("  12000")


def test_a_point_that_is_not_solved_has_no_numbers() -> None:
    text = words.swept(make("suction-one-pump"), swept(point(700.0, None), point(1000.0, 3.2)))
    assert rows(text)[0].split() == ["700", "not", "solved"]
    assert rows(text)[1].split() == ["1000", "3.20", "3.20", "4.20", "-"]
    assert "attitude inHg" in text and "pump load inHg" in text


def test_a_nought_has_no_minus() -> None:
    text = words.swept(make("suction-one-pump"), swept(point(0.0, -1e-9)))
    assert "-0.00" not in text and rows(text)[0].split()[1] == "0.00"


@pytest.mark.parametrize(("lamp", "word"), [(True, "on"), (False, "out"), (None, "-")])
def test_the_lamp_is_told_in_a_word(lamp: bool | None, word: str) -> None:
    text = words.swept(make("suction-one-pump"), swept(point(700.0, 1.8, lamp)))
    assert rows(text)[0].split()[-1] == word


def test_paragraphs_keep_to_the_width() -> None:
    long = "word " * 60
    for text in (words.wrapped(long), words.bullets([long, long])):
        assert max(len(line) for line in text.splitlines()) <= words.WIDTH
    assert words.bullets([long]).splitlines()[1].startswith("    "), "aligned under its bullet's text"


def weight(item: str, log10_odds: float) -> EvidenceWeight:
    return EvidenceWeight(id=item, log10_odds=log10_odds, words=f"{item} weighs", speaks="for")


def cause(cause_id: str, probability: float, *evidence: EvidenceWeight) -> Cause:
    return Cause(
        id=cause_id,
        name=cause_id.replace("_", " "),
        part="pump",
        probability=probability,
        present=probability,
        hypotheses=(),
        evidence=evidence,
        effective_rows=100.0,
        log_evidence_se=0.1,
        count_is_rough=False,
    )


CHECK = NextCheck(
    id="cover_test",
    name="cover test",
    minutes=2.0,
    expected_bits=0.8,
    bits_se=0.1,
    why="it splits them",
    who="mechanic",
    cautions=("Below the knee only.",),
)


def causes(*found: Cause, undecided: bool, refined: bool = True) -> Causes:
    return Causes(
        causes=found,
        undecided=undecided,
        group=tuple(item.id for item in found[:2]),
        next_checks=(CHECK,),
        remarks=("the plateau cannot be trusted",),
        refined=refined,
        engine="kernel",
        rows_per_hypothesis=512,
        rests_on_priors=False,
        sources=(),
        description_digest="",
        seed=0,
    )


def test_doubt_comes_before_the_causes() -> None:
    found = (cause("leak", 0.45, weight("lamp", 0.3)), cause("worn_vanes", 0.44), cause("hose_off", 0.002))
    text = words.caused(causes(*found, undecided=True))
    assert text.startswith("Undecided between: leak; worn vanes.")
    assert "hose off" not in text, "less than 1 in 100 is left out"
    assert "%" not in text and "cover test, about 2 min, mechanic" in text and "Caution: Below the knee only." in text


def test_what_must_not_wait_comes_before_the_causes_and_is_said_once() -> None:
    caution = "Do not fly with a dead pump turning on its pad."
    plain = causes(cause("leak", 0.45), cause("worn_vanes", 0.44), undecided=True, refined=False)
    assert "What must not wait" not in words.caused(plain)
    text = words.caused(msgspec.structs.replace(plain, remarks=(caution, *plain.remarks), cautions=(caution,)))
    assert text.index("First answer") < text.index(caution) < text.index("as the source"), text
    assert text.count(caution) == 1 and text.count("the plateau cannot be trusted") == 1


def test_the_rare_of_an_undecided_group_are_counted_with_their_chance_together() -> None:
    rare = [cause(f"rare_{number}", 0.03) for number in range(5)]
    found = (cause("leak", 0.45), cause("worn_vanes", 0.35), *rare)
    told = msgspec.structs.replace(causes(*found, undecided=True), group=tuple(item.id for item in found))
    assert [item.id for item in told.named] == ["leak", "worn_vanes"] and told.counted == tuple(rare)
    assert words.caused(told).startswith("Undecided between: leak; worn vanes; and 5 more, together about 1 in 7.")


@pytest.mark.parametrize(
    ("chances", "named"),
    [
        ((0.3, 0.2, 0.05, 0.04, 0.03), 3),
        ((0.3, 0.2, 0.05, 0.04), 4),  # "and 1 more" would be no shorter than its name
        ((0.9,), 1),
        ((0.88, 0.01, 0.01, 0.01), 2),
    ],
)
def test_how_many_of_a_group_are_named(chances: tuple[float, ...], named: int) -> None:
    found = tuple(cause(f"mode_{number}", chance) for number, chance in enumerate(chances))
    told = msgspec.structs.replace(causes(*found, undecided=True), group=tuple(item.id for item in found))
    assert told.named == found[:named] and told.counted == found[named:]
    assert told.counted_chance == pytest.approx(sum(chances[named:]))


def test_one_cause_alone_is_not_called_undecided_between() -> None:
    text = words.caused(causes(cause("leak", 0.96), undecided=True))
    assert text.startswith("Not decided yet, likeliest: leak.")


def test_a_decided_answer_says_most_likely_and_never_certain() -> None:
    text = words.caused(causes(cause("leak", 0.999), undecided=False))
    assert text.startswith("Most likely the source: leak.")
    assert "more than 99 in 100" in text and "certain" not in text


def test_the_weightiest_evidence_is_told_first_and_what_says_nothing_is_not() -> None:
    evidence = (weight("small", 0.05), weight("some", -0.3), weight("much", 1.4))
    text = words.caused(causes(cause("leak", 0.9, *evidence), undecided=False))
    assert text.index("much weighs") < text.index("some weighs")
    assert "small weighs" not in text


def test_a_first_answer_and_a_smaller_bank_say_so() -> None:
    text = words.caused(causes(cause("leak", 0.9), undecided=True, refined=False))
    assert "First answer" in text
    numpy = msgspec.structs.replace(causes(cause("leak", 0.9), undecided=True), engine="numpy")
    assert "smaller bank" in words.caused(numpy)


def test_what_is_no_thing_is_not_there_at_all_and_nothing_wrong_is_no_finding() -> None:
    found = (cause("nothing_wrong", 0.4), cause("leak", 0.3), cause("none_of_these", 0.1))
    lines = words.caused(causes(*found, undecided=True)).splitlines()
    nothing, leak, none = (
        next(line for line in lines if line.startswith(start)) for start in ("nothing wrong (", "leak (", "none of")
    )
    assert "as the source" in leak and "there at all" in leak
    assert "no finding that it is fit to fly" in nothing
    assert not any(said in line for said in ("as the source", "there at all") for line in (nothing, none))
