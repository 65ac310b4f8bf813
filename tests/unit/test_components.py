"""The card of a component across aircraft."""

from __future__ import annotations

import datetime

from vanewise.record.components import ComponentEvent, component_card


def event(kind: str, date: str, total: float | None = None, aircraft: str = "one", **more: object) -> ComponentEvent:
    return ComponentEvent(
        serial="S-17",
        part="pump",
        kind=kind,  # type: ignore[arg-type]
        date=datetime.date.fromisoformat(date),
        aircraft=aircraft if kind in ("fitted", "removed") else "",
        total_centihours=None if total is None else round(total * 100),
        **more,  # type: ignore[arg-type]
    )


LIFE = [
    event("made", "2020-01-10"),
    event("fitted", "2020-06-20", 2100.0),
    event("removed", "2023-03-01", 2480.5, note="aircraft sold"),
    event("fitted", "2023-04-01", 900.0, "two"),
    event("removed", "2024-02-01", 1100.25, "two", note="overhaul"),
    event("overhauled", "2024-03-01"),
    event("fitted", "2024-05-01", 1150.0, "two"),
]


def test_time_runs_on_across_aircraft_and_starts_again_at_overhaul() -> None:
    card = component_card("S-17", LIFE, {"two": 120_000})
    assert card.state == "fitted" and card.aircraft == "two"
    assert [stay.centihours for stay in card.stays] == [38_050, 20_025, 5_000]
    assert card.since_new_centihours == 38_050 + 20_025 + 5_000
    assert card.since_overhaul_centihours == 5_000
    assert card.stays[0].why_off == "aircraft sold"
    assert card.problems == ()


def test_the_order_of_entry_does_not_matter() -> None:
    assert component_card("S-17", LIFE[::-1], {"two": 120_000}) == component_card("S-17", LIFE, {"two": 120_000})


def test_hours_that_were_not_written_are_not_guessed() -> None:
    events = [event("made", "2020-01-10"), event("fitted", "2020-06-20", 2100.0), event("removed", "2023-03-01")]
    card = component_card("S-17", events)
    assert card.state == "on the shelf"
    assert card.since_new_centihours is None and card.stays[0].centihours is None


def test_a_component_cannot_be_in_two_aircraft() -> None:
    card = component_card("S-17", [*LIFE, event("fitted", "2024-09-01", 50.0, "three")])
    assert card.aircraft == "three"
    assert card.problems[0].found == "still fitted to two"


def test_a_removal_without_a_fitting_and_a_total_that_falls_are_told() -> None:
    card = component_card("S-17", [event("removed", "2023-03-01", 100.0)])
    assert card.problems[0].found == "no record of fitting it"
    card = component_card("S-17", [event("fitted", "2023-03-01", 100.0), event("removed", "2023-05-01", 90.0)])
    assert "100.0 h" in card.problems[0].expected


def test_a_document_that_contradicts_the_count_is_told_and_taken() -> None:
    events = [*LIFE[:3], event("fitted", "2023-04-01", 900.0, "two", since_new_centihours=50_000)]
    card = component_card("S-17", events, {"two": 90_100})
    assert card.problems[0].found == "500.0 h on its document"
    assert card.since_new_centihours == 50_100


def test_a_scrapped_part_is_not_fitted_again_without_a_word() -> None:
    card = component_card("S-17", [event("scrapped", "2024-01-01"), event("fitted", "2024-02-01", 10.0)])
    assert "scrapped before" in card.problems[0].found


def test_an_unknown_serial_has_an_empty_card() -> None:
    card = component_card("none", LIFE)
    assert card.state == "unknown" and card.stays == ()
