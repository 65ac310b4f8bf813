"""Every number of the model has a unit, a source and a standing, and is listed."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from tools.reference.values import all_defaults, pages
from vanewise import values
from vanewise.aircraft.kinds import KINDS, SECTIONS
from vanewise.diagnosis.modes import MODES
from vanewise.quantities import UNITS
from vanewise.values import MODULES, STANDINGS, all_values
from vanewise.watch.wear_priors import DEFAULT_PRIORS

FOLDER = Path(values.__file__).parent


def test_every_file_of_values_is_listed() -> None:
    assert {path.stem for path in FOLDER.glob("*.py")} - {"__init__"} == set(MODULES)


def test_every_value_names_its_source_and_its_dimension() -> None:
    listed = all_values()
    assert len({(cited.module, cited.name) for cited in listed}) == len(listed)
    for cited in listed:
        value = cited.value
        assert str(value.source).strip(), cited
        assert value.dimension, cited
        assert value.spread >= 0.0, cited
        if value.standing == "published":
            assert value.source.publication not in ("judgement of the authors", "assumed"), cited


def test_values_that_nobody_published_come_first() -> None:
    standings = [cited.value.standing for cited in all_values()]
    firsts = [standings.index(standing) for standing in dict.fromkeys(standings)]
    assert firsts == sorted(firsts)
    assert standings[-1] == "published"
    assert len(dict.fromkeys(standings)) == sum(a != b for a, b in pairwise(standings)) + 1


def test_every_example_of_a_kind_is_a_cited_value() -> None:
    cited = {id(entry.value) for entry in all_values()}
    for specs in (*(kind.fields for kind in KINDS.values()), *SECTIONS.values()):
        for spec in specs:
            assert spec.dimension in UNITS
            assert spec.unit in UNITS[spec.dimension]
            assert spec.low < spec.high
            assert spec.default is None or id(spec.default) in cited, spec.name


def test_states_are_sound_at_their_neutral_value() -> None:
    for kind in KINDS.values():
        names = [state.name for state in kind.states]
        assert len(set(names)) == len(names)
        assert not set(names) & {spec.name for spec in kind.fields}
        for state in kind.states:
            assert state.low <= state.neutral <= state.high
            assert state.unit in ("0 or 1", "times", "fraction", "mm2", "inHg")


def test_the_reference_page_holds_every_default_once_with_what_takes_it() -> None:
    """Fields of parts, starting assumptions of a wear forecast and rates of modes: none may be left out."""
    listed = all_defaults()
    assert len({id(entry.value) for entry in listed}) == len(listed)
    held = {id(entry.value) for entry in listed}
    assert held >= {id(value) for _, value in DEFAULT_PRIORS.values()}
    assert {mode.id for mode in MODES.values()} <= {entry.name for entry in listed}
    standings = [STANDINGS.index(entry.value.standing) for entry in listed]
    assert standings == sorted(standings)
    page = pages()["values.md"]
    for kind in KINDS.values():
        for spec in kind.fields:
            assert spec.default is None or f"{kind.name}: {spec.name}" in page
