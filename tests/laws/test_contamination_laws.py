"""Laws of the trace that must hold for any aircraft, any events and any findings."""

from __future__ import annotations

import datetime

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft.layouts import make
from vanewise.contamination import BarrierFinding, Change, FrontFinding, SheddingEvent, told, trace
from vanewise.contamination.plumbing import BARRIER_KINDS, is_gyro, plumbing
from vanewise.diagnosis.types import CheckResult, Evidence
from vanewise.provenance import MEMORY, Value

LAYOUTS = (
    "suction-one-pump",
    "pressure-one-pump",
    "suction-twin-pumps",
    "suction-standby-pump",
    "suction-standby-intake",
    "pressure-twin-pumps",
)


@st.composite
def aircraft(draw):
    """A ready-made layout with lines of any length and bore."""
    description = make(draw(st.sampled_from(LAYOUTS)))
    lines = []
    for line in description.lines:
        length = draw(st.floats(0.02, 4.0))
        bore = draw(st.floats(0.004, 0.02))
        values = dict(line.values)
        for field, number in (("length", length), ("bore", bore)):
            values[field] = Value(number=number, dimension="length", standing="measured", source=MEMORY)
        lines.append(msgspec.structs.replace(line, values=values))
    return msgspec.structs.replace(description, lines=tuple(lines))


@st.composite
def an_event(draw, description):
    graph = plumbing(description)
    pumps = [part.id for part in description.parts_of("pump")]
    others = len(pumps) > 1 or description.parts_of("standby pump") or description.parts_of("intake source")
    kinds = ["running", "stop", "turned backwards", "maintenance"] + (["cross-feed"] if others else [])
    kind = draw(st.sampled_from(kinds))
    parts = pumps if kind in ("cross-feed", "turned backwards") else sorted(graph.elements)
    return SheddingEvent(
        part=draw(st.sampled_from(parts)),
        kind=kind,
        altitude_m=draw(st.one_of(st.none(), st.floats(0.0, 5000.0))),
        suction_pa=draw(st.one_of(st.none(), st.floats(500.0, 20000.0))),
        turns_back=draw(st.one_of(st.none(), st.floats(0.1, 5.0))) if kind in ("stop", "turned backwards") else None,
        other_source_used=draw(st.sampled_from([None, True, False])),
    )


@st.composite
def some_findings(draw, description):
    graph = plumbing(description)
    walls = sorted(e.id for e in graph.elements.values() if e.kind in BARRIER_KINDS | {"regulator"})
    lines = sorted(e.id for e in graph.elements.values() if e.is_line)
    findings = [
        BarrierFinding(
            part=wall,
            state=draw(st.sampled_from(["intact", "breached", "absent", "reversed", "unknown"])),
            right_way_round=draw(st.sampled_from([True, False, None])),
        )
        for wall in draw(st.lists(st.sampled_from(walls), max_size=4))
    ]
    findings += [
        FrontFinding(line=line, clean_from_m=0.1, proof="cloth")
        for line in draw(st.lists(st.sampled_from(lines), max_size=2))
    ]
    return tuple(findings)


def suspects(description, events, findings=(), changes=()):
    return set(trace(description, None, *events, findings=findings, changes=changes).suspect_ids)


DAYS = st.one_of(st.none(), st.dates(datetime.date(2024, 1, 1), datetime.date(2024, 1, 9)))


@st.composite
def dated_cases(draw):
    """Events, findings and changes, each with a date or without."""
    description, events, findings = draw(cases(events=2))
    events = tuple(msgspec.structs.replace(event, when=draw(DAYS)) for event in events)
    findings = tuple(
        msgspec.structs.replace(f, when=draw(DAYS), as_it_was=draw(st.sampled_from([True, False, None])))
        for f in findings
    )
    kinds = st.sampled_from([("hose",), ("tube", "hose"), ("inline filter",), ("intake filter",), ("regulator",)])
    changes = tuple(
        Change(words="changed", kinds=draw(kinds), when=draw(DAYS), runs_through=draw(st.booleans())) for _ in range(2)
    )
    return description, events, findings, changes


@given(st.deferred(dated_cases), st.data())
def test_a_find_or_another_event_never_removes_a_suspect_whatever_was_looked_at_and_when(case, data):
    """Debris seen somewhere undoes walls and ends of traces on the way there; it shields nothing."""
    description, events, findings, changes = case
    before = suspects(description, events[:1], findings, changes)
    place = data.draw(st.sampled_from(sorted(plumbing(description).elements)))
    find = SheddingEvent(part=place, kind="running", because="seen", found_here=True, known_by=data.draw(DAYS))
    assert before <= suspects(description, events, findings, changes)
    assert before <= suspects(description, (events[0], find), findings, changes)


@given(st.deferred(dated_cases))
def test_one_more_change_never_removes_a_suspect(case):
    """That something is another one since can only take away what a look proved."""
    description, events, findings, changes = case
    assert suspects(description, events, findings, changes[:1]) <= suspects(description, events, findings, changes)


@given(st.deferred(dated_cases))
def test_looks_with_dates_only_ever_shorten_the_list(case):
    description, events, findings, changes = case
    assert suspects(description, events, findings, changes) <= suspects(description, events)


@given(aircraft(), st.data())
def test_every_find_in_the_evidence_is_on_the_list_with_all_that_the_pump_it_came_from_reaches(description, data):
    places = sorted(e.id for e in plumbing(description).elements.values() if e.is_line or is_gyro(e.kind))
    place = data.draw(st.sampled_from(places))
    check = "borescope_lines" if any(line.id == place for line in description.lines) else "indicator_bench"
    outcome = "chips" if check == "borescope_lines" else "dirty"
    evidence = Evidence(checks=(CheckResult(id="c", check=check, outcome=outcome, place=place, grade=3),))
    said = told(description, evidence)
    pumps = [event for event in said.events if event.part in {p.id for p in description.parts_of("pump")}]
    assert pumps
    found = suspects(description, said.events, said.findings, said.changes)
    assert place in found
    for event in pumps:
        assert suspects(description, (event,)) <= found


@st.composite
def cases(draw, events=1):
    description = draw(aircraft())
    return description, tuple(draw(an_event(description)) for _ in range(events)), draw(some_findings(description))


@given(cases(), st.data())
def test_one_more_barrier_found_intact_never_enlarges_the_scope(case, data):
    description, events, findings = case
    graph = plumbing(description)
    wall = data.draw(st.sampled_from(sorted(e.id for e in graph.elements.values() if e.kind in BARRIER_KINDS)))
    kept = tuple(f for f in findings if not (isinstance(f, BarrierFinding) and f.part == wall))
    intact = BarrierFinding(part=wall, state="intact", right_way_round=True)
    assert suspects(description, events, (*kept, intact)) <= suspects(description, events, kept)


@given(cases(), st.data())
def test_one_more_end_of_traces_never_enlarges_the_scope(case, data):
    description, events, findings = case
    line = data.draw(st.sampled_from(sorted(line.id for line in description.lines)))
    end = FrontFinding(line=line, clean_from_m=0.2, proof="cloth")
    assert suspects(description, events, (*findings, end)) <= suspects(description, events, findings)


@given(cases(events=3))
def test_one_more_event_never_removes_a_suspect(case):
    description, events, findings = case
    before = suspects(description, events[:2], findings)
    assert before <= suspects(description, events, findings)


@given(cases(events=2), st.data())
def test_the_order_of_findings_and_of_events_does_not_matter(case, data):
    description, events, findings = case
    shuffled = tuple(data.draw(st.permutations(findings)))
    assert suspects(description, events, findings) == suspects(description, events[::-1], shuffled)


@given(aircraft(), st.floats(100.0, 20000.0), st.floats(0.0, 5000.0))
def test_a_stop_in_suction_duty_always_soils_the_hose_at_the_pump(description, suction_pa, altitude_m):
    for pump in description.parts_of("pump"):
        event = SheddingEvent(part=pump.id, kind="stop", suction_pa=suction_pa, altitude_m=altitude_m)
        at_pump = {line.id for line in description.lines if f"{pump.id}.inlet" in (line.start, line.end)}
        assert at_pump <= suspects(description, (event,))


@given(st.sampled_from(["running", "stop"]), st.floats(0.0, 4000.0))
def test_the_other_duty_gives_another_list(kind, altitude_m):
    event = SheddingEvent(part="pump", kind=kind, altitude_m=altitude_m)
    suction, pressure = make("suction-one-pump"), make("pressure-one-pump")
    assert suspects(suction, (event,)) != suspects(pressure, (event,))
    gyros = {"attitude", "heading"}
    if kind == "running":
        assert not gyros & suspects(suction, (event,))
        assert gyros <= suspects(pressure, (event,))


@given(aircraft(), st.floats(500.0, 20000.0), st.floats(0.0, 5000.0))
def test_a_dead_end_gauge_line_is_reached_by_its_volume_only(description, suction_pa, altitude_m):
    """However far the air gets, what enters a dead end is never more than its own volume times d/Pa, 30 % up."""
    from vanewise.contamination.events import ambient_and_suction, reached, setting

    graph = plumbing(description)
    at = setting(description, graph, None)
    pump = description.parts_of("pump")[0].id
    event = SheddingEvent(part=pump, kind="stop", suction_pa=suction_pa, altitude_m=altitude_m)
    visits = reached(at, event) if description.duty == "suction" else {}
    ambient, suction = ambient_and_suction(at, event)
    for element_id, visit in visits.items():
        element = graph.elements[element_id]
        if element.is_tap and visit.arriving_m3 is not None:
            assert visit.arriving_m3 <= 1.3 * element.volume_m3 * suction / ambient * (1 + 1e-9)


@given(cases())
def test_every_path_starts_at_its_source_and_is_made_of_neighbours(case):
    description, events, findings = case
    graph = plumbing(description)
    scope = trace(description, None, *events, findings=findings)
    for suspect in scope.suspects:
        assert suspect.path[-1] == suspect.id
        turned = {part.id for part in description.parts_of("pump")} if events[0].turns_back else set()
        assert suspect.path[0] in {events[0].part} | turned
        assert len(set(suspect.path)) == len(suspect.path)
        for first, second in zip(suspect.path, suspect.path[1:], strict=False):
            assert _touch(graph, first, second), (first, second)


def _touch(graph, first, second):
    if graph.attached.get(first) == second or graph.attached.get(second) == first:
        return True
    ports = set(graph.elements[first].ports) & set(graph.elements[second].ports)
    return bool(ports)


@given(cases(), st.floats(0.0, 7620.0))
def test_a_known_altitude_never_adds_suspects_to_those_of_an_unknown_one(case, altitude_m):
    """Up to the height a stop is taken to have been at while nobody has said, 25,000 ft."""
    description, events, findings = case
    unknown = tuple(msgspec.structs.replace(event, altitude_m=None) for event in events)
    known = tuple(msgspec.structs.replace(event, altitude_m=altitude_m) for event in events)
    assert suspects(description, known, findings) <= suspects(description, unknown, findings)


@given(cases())
def test_what_is_answered_of_another_source_never_adds_suspects(case):
    description, events, findings = case
    unknown = suspects(description, tuple(msgspec.structs.replace(e, other_source_used=None) for e in events), findings)
    for answer in (True, False):
        told = tuple(msgspec.structs.replace(event, other_source_used=answer) for event in events)
        assert suspects(description, told, findings) <= unknown


@given(aircraft(), st.floats(0.0, 5000.0), st.floats(0.05, 5.0), st.floats(0.05, 5.0))
def test_turns_back_add_to_a_stop_and_to_each_other(description, altitude_m, first, second):
    """Nothing the two reach apart is missing when both were; and more turns reach no less."""
    pump = description.parts_of("pump")[0].id
    stop = SheddingEvent(part=pump, kind="stop", altitude_m=altitude_m, other_source_used=False)
    once = SheddingEvent(part=pump, kind="turned backwards", turns_back=first)
    again = SheddingEvent(part=pump, kind="turned backwards", turns_back=second)
    whole = SheddingEvent(part=pump, kind="turned backwards", turns_back=first + second)
    both = suspects(description, (stop, once))
    assert suspects(description, (stop,)) | suspects(description, (once,)) <= both
    # A hair more, because two numbers of turns added are rounded apart.
    assert (
        both
        <= suspects(description, (stop, once, again))
        <= suspects(description, (stop, msgspec.structs.replace(whole, turns_back=1.0001 * (first + second))))
    )
    beside = msgspec.structs.replace(stop, turns_back=first)
    assert suspects(description, (beside,)) == both
