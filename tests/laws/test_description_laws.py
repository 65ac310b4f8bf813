"""Laws of the description: text reads back as itself, and the checks never fall over, whatever they are given."""

from __future__ import annotations

import datetime
import math
import unicodedata

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft.checks import check
from vanewise.aircraft.compose import Choices, compose
from vanewise.aircraft.description import (
    AircraftDescription,
    Fitted,
    Gauge,
    Line,
    Meters,
    Part,
    canonical_json,
    digest,
    from_json,
)
from vanewise.aircraft.kinds import KINDS, FieldSpec, field_of
from vanewise.aircraft.layouts import make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.remarks import remarks
from vanewise.aircraft.versions import changes, revise
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError, Problem
from vanewise.provenance import Source, Standing, Value
from vanewise.quantities import UNITS, centihours_text, to_centihours, to_si, written

replace = msgspec.structs.replace

words = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=30).map(
    lambda text: unicodedata.normalize("NFC", text.strip())
)
dates = st.none() | st.dates(datetime.date(1940, 1, 1), datetime.date(2100, 1, 1))
centihours = st.none() | st.integers(0, 99_999_99)
fitted = st.builds(Fitted, date=dates, tach_centihours=centihours, hour_meter_centihours=centihours, serial=words)
standings = st.sampled_from(list(Standing.__args__))  # type: ignore[attr-defined]
choices = st.builds(
    Choices,
    duty=st.just("suction"),
    gyros=st.sampled_from([("attitude",), ("heading",), ("attitude", "heading"), ("attitude", "heading", "turn")]),
    pumps=st.sampled_from([1, 2]),
    filters=st.sampled_from(["central", "each", "none"]),
    lamp=st.booleans(),
) | st.builds(Choices, duty=st.just("pressure"), inlet_filter=st.booleans(), inline_filter=st.booleans())


def values_of(spec: FieldSpec) -> st.SearchStrategy[Value]:
    """Values that the file's bounds allow: near ones, far ones, of any standing and source."""
    example = [spec.default] if spec.default is not None else []
    number = st.floats(spec.low, spec.high, allow_subnormal=False).map(lambda x: x + 0.0)
    number |= st.sampled_from([value.number for value in example] or [spec.low])
    return st.builds(
        Value,
        number=number,
        dimension=st.just(spec.dimension),
        standing=standings,
        source=st.builds(Source, words.filter(bool), words),
        spread=st.floats(0.0, 1e6, allow_subnormal=False),
        spread_kind=st.sampled_from(["relative", "absolute"]),
        seen=words,
        note=words,
    )


@st.composite
def descriptions(draw: st.DrawFn) -> AircraftDescription:
    """Sound systems with any numbers, names and dates."""
    description = compose(draw(choices), draw(words.filter(bool)))
    kinds = {part.id: part.kind for part in description.parts} | {line.id: "line" for line in description.lines}
    paths = [path for path, _ in description.values()]
    for path in draw(st.lists(st.sampled_from(paths), max_size=4, unique=True)):
        owner, _, field = path.partition(".")
        spec = field_of(kinds[owner], field)
        assert spec is not None
        description = revise(description, path, draw(values_of(spec)))
    part = draw(st.sampled_from(description.parts))
    aged = replace(part, fitted=draw(fitted), name=draw(words))
    line = draw(st.sampled_from(description.lines))
    old = replace(line, fitted=draw(fitted), cured=draw(dates), material=draw(st.sampled_from(["hose", "tube"])))
    return replace(
        description,
        parts=tuple(aged if other is part else other for other in description.parts),
        lines=tuple(old if other is line else other for other in description.lines),
        meters=draw(st.builds(Meters, tach_centihours=centihours, hour_meter_centihours=centihours, read_on=dates)),
        valid_from=draw(dates),
        invented=draw(st.booleans()),
        duty_confirmed=draw(st.booleans()),
        also_fitted=tuple(draw(st.lists(st.sampled_from(["standby source", "door seal"]), max_size=2, unique=True))),
    )


@given(descriptions())
def test_written_and_read_is_the_same_value(description: AircraftDescription) -> None:
    assert read_description(write_description(description)) == description


@given(descriptions())
def test_canonical_text_round_trips_and_digests_agree_only_for_equals(description: AircraftDescription) -> None:
    assert from_json(canonical_json(description)) == description
    other = make("suction-one-pump")
    assert (digest(description) == digest(other)) == (description == other)


@given(descriptions())
def test_nothing_changes_between_a_description_and_itself(description: AircraftDescription) -> None:
    assert changes(description, description) == ()
    assert all(isinstance(remark, Problem) for remark in remarks(description))


some_id = st.sampled_from(["pump", "attitude", "manifold", "reg", "v1", "", "cabin", "Ärger", "x" * 80, "a.b"])
some_kind = st.sampled_from([*KINDS, "pmup", ""])
some_port = st.sampled_from(["inlet", "outlet", "air", "clean", "dirty", "gyro_side", "pump_side", "one", "two", ""])
some_end = st.builds("{}.{}".format, some_id, some_port) | st.sampled_from(["cabin", "engine bay", "unknown", "", "."])
air = st.sampled_from(["cabin", "engine bay"])
any_value = st.builds(
    Value,
    number=st.floats(),
    dimension=st.sampled_from([*UNITS, "none such"]),
    standing=standings,
    source=st.just(Source("x")),
    spread=st.floats(),
)
any_values = st.dictionaries(
    st.sampled_from(["length", "bore", "setting", "drive_ratio", "nonsense"]), any_value, max_size=3
)
any_part = st.builds(
    Part,
    id=some_id,
    kind=some_kind,
    open=st.dictionaries(some_port, air, max_size=2),
    capped=st.lists(some_port, max_size=2).map(tuple),
    extra_ports=st.lists(some_port, max_size=3).map(tuple),
    senses=st.just("") | some_end,
    values=any_values,
)
any_line = st.builds(Line, id=some_id, start=some_end, end=some_end, values=any_values)


@st.composite
def any_graphs(draw: st.DrawFn) -> AircraftDescription:
    """Parts and lines thrown together, with most ends on ports that exist, so that real shapes come up as well."""
    parts = draw(st.lists(any_part, max_size=9))
    ends = [f"{p.id}.{port.name}" for p in parts if p.kind in KINDS for port in KINDS[p.kind].ports]
    end = some_end | st.sampled_from(ends) if ends else some_end
    lines = draw(st.lists(st.builds(Line, id=some_id, start=end, end=end, values=any_values), max_size=12))
    base = make("suction-one-pump")
    return replace(
        base,
        duty=draw(st.sampled_from(["suction", "pressure"])),
        parts=tuple(parts) + draw(st.sampled_from([(), base.parts])),
        lines=tuple(lines) + draw(st.sampled_from([(), base.lines])),
        gauge=draw(st.builds(Gauge, high=end, low=end)),
    )


@given(any_graphs())
def test_checks_never_fall_over_and_always_say_four_things(description: AircraftDescription) -> None:
    for problem in (*check(description), *remarks(description)):
        assert problem.where
        assert problem.expected
        assert problem.found
        assert problem.next_step


@given(st.sampled_from(["suction-one-pump", "pressure-one-pump", "suction-twin-pumps"]), st.data())
def test_any_one_line_taken_out_is_noticed(name: str, data: st.DataObject) -> None:
    description = make(name)
    gone = data.draw(st.sampled_from(description.lines))
    found = check(replace(description, lines=tuple(line for line in description.lines if line is not gone)))
    ports = {end.split(".")[1] for end in (gone.start, gone.end) if "." in end}
    assert ports <= {problem.path.rsplit(".", 1)[-1] for problem in found}


def told_of(text: str) -> tuple[Problem, ...]:
    """The problems that reading a text gives; none where it can be read. Any other error goes through."""
    try:
        read_description(text)
    except InputError as error:
        return error.problems
    return ()


@given(st.text(max_size=400) | st.binary(max_size=200).map(lambda raw: raw.decode("latin-1")))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    assert all(p.where and p.expected and p.found and p.next_step for p in told_of(text))


@given(st.sampled_from(["suction-one-pump", "pressure-one-pump"]), st.data())
def test_a_torn_or_spoiled_file_is_read_or_refused_in_words(name: str, data: st.DataObject) -> None:
    text = write_description(make(name))
    start = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 40))
    spoiled = text[:start] + data.draw(st.text(max_size=10)) + text[start + length :]
    assert all(p.where and p.expected and p.found and p.next_step for p in told_of(spoiled))


@given(st.sampled_from([(dimension, unit) for dimension in UNITS for unit in UNITS[dimension]]), st.data())
def test_written_quantities_read_back_exactly(measure: tuple[str, str], data: st.DataObject) -> None:
    dimension, unit = measure
    low = 0.0 if dimension == "temperature" else -1e9
    value = data.draw(st.floats(low, 1e9, allow_subnormal=False)) + 0.0
    if value != 0.0 and abs(value) < 1e-300:
        value = 0.0
    assert to_si(written(value, dimension, unit), dimension, "here") == value


@given(st.integers(0, 10**9))
def test_written_meter_readings_read_back_exactly(hundredths: int) -> None:
    if hundredths < 10**9:
        assert to_centihours(centihours_text(hundredths), "here") == hundredths


@given(st.sampled_from(list(UNITS)), st.text(max_size=40))
def test_any_text_for_a_quantity_is_a_finite_number_or_refused(dimension: str, text: str) -> None:
    try:
        value = to_si(text, dimension, "here")
    except InputError as error:
        value = 0.0
        where = error.problems[0].where
    else:
        where = "here"
    assert math.isfinite(value)
    assert where == "here"
