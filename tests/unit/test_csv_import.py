"""Readings from any table, with the columns mapped by the person."""

from __future__ import annotations

import datetime

import pytest

from vanewise.errors import InputError
from vanewise.watch.csv_import import Column, ColumnMapping, headings, read_table

MAPPING = ColumnMapping(
    columns=(
        Column(heading="Day", holds="date"),
        Column(heading="Tacho", holds="tach"),
        Column(heading="Suction", holds="gauge", unit="inHg"),
        Column(heading="RPM", holds="engine rpm", unit="rpm"),
        Column(heading="Said", holds="note"),
    )
)
TABLE = """\ufeffDay,Tacho,Suction,RPM,Said
2025-01-19,2968.6,4.7,1800,needle wanders
2025-01-04,"2,960.30",4.7 inHg,1800,

2025-02-09,2979.65,3.9,1800,"lamp, still on"
"""


def test_rows_come_in_order_with_their_units_and_exact_hours() -> None:
    found = read_table(TABLE, MAPPING)
    assert [row.line for row in found.rows] == [3, 2, 5]
    assert [row.tach_centihours for row in found.rows] == [296_030, 296_860, 297_965]
    assert dict(found.rows[1].values) == {"gauge": "4.7 inHg", "engine rpm": "1800 rpm", "note": "needle wanders"}
    assert found.problems == () and found.remarks == ()


def test_headings_are_shown_for_mapping() -> None:
    assert headings(TABLE) == ("Day", "Tacho", "Suction", "RPM", "Said")
    assert headings("") == ()


def test_other_dates_and_decimals() -> None:
    mapping = ColumnMapping(
        columns=(Column(heading="Datum", holds="date"), Column(heading="Std", holds="hour meter")),
        date_style="31.03.2025",
        separator=";",
        decimal=",",
    )
    found = read_table("Datum;Std\n19.01.2025;1.234,5\n", mapping)
    assert found.rows[0].date == datetime.date(2025, 1, 19)
    assert found.rows[0].hour_meter_centihours == 123_450


@pytest.mark.parametrize(
    ("row", "where", "found"),
    [
        ("19.01.2025,1,4.7,1800,", "line 2, Day", "19.01.2025"),
        ("2025-01-19,12.345,4.7,1800,", "line 2, Tacho", "12.345"),
        ("2025-01-19,-5,4.7,1800,", "line 2, Tacho", "-5"),
        ("2025-01-19,1,4.7 hPa,1800,", "line 2, Suction", "4.7 hPa"),
        ("2025-01-19,1,four,1800,", "line 2, Suction", "four"),
    ],
)
def test_a_bad_row_is_told_and_the_others_stay(row: str, where: str, found: str) -> None:
    table = f"Day,Tacho,Suction,RPM,Said\n{row}\n2025-03-01,2983.9,4.7,1800,fine\n"
    answer = read_table(table, MAPPING)
    assert len(answer.rows) == 1
    assert answer.problems[0].where == where and found in answer.problems[0].found


def test_hours_that_run_backwards_and_gaps_are_caught() -> None:
    table = (
        "Day,Tacho,Suction,RPM,Said\n2025-01-01,2900,4.7,1800,\n2025-01-09,12.5,4.7,1800,\n2025-09-01,40,4.7,1800,\n"
    )
    answer = read_table(table, MAPPING)
    assert answer.problems[0].where == "line 3, tach"
    assert "replaced" in answer.problems[0].next_step
    assert "235 days between 2025-01-09 and 2025-09-01" in answer.remarks[0]


@pytest.mark.parametrize(
    ("columns", "where"),
    [
        ((Column(heading="Date", holds="date"),), "column for date"),
        ((Column(heading="Tacho", holds="tach"),), "columns"),
        ((Column(heading="Day", holds="date"), Column(heading="Said", holds="date")), "columns"),
    ],
)
def test_a_mapping_that_does_not_fit_is_refused(columns: tuple[Column, ...], where: str) -> None:
    with pytest.raises(InputError) as caught:
        read_table(TABLE, ColumnMapping(columns=columns))
    assert caught.value.problems[0].where == where
