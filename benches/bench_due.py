"""What a shop waits for: the first page of what comes next over 10,000 aircraft, against working all of them out."""

from __future__ import annotations

import atexit
import datetime
import shutil
import tempfile
from pathlib import Path

import msgspec

from benches.harness import Comparison, bench
from vanewise.watch.due import due_points
from vanewise.watch.types import Limit, Work
from vanewise.watch.utilisation import utilisation

AIRCRAFT = 10_000
SAMPLE = 100
"""Aircraft that the reference works out in one call."""
TODAY = datetime.date(2031, 3, 14)
LIMITS = tuple(
    Limit(item=f"item {number}", nature="own", source="", hours_centi=hours, calendar_months=months)
    for number, (hours, months) in enumerate(
        ((10_000, None), (50_000, 12), (None, 12), (None, 60), (2_500, None), (10_000, 24), (None, 24), (100_000, 72))
    )
)


def _history(number: int) -> tuple[tuple[Work, ...], int]:
    """Work on one aircraft, each other than the last: days and hours spread by plain arithmetic."""
    done = TODAY - datetime.timedelta(days=number * 7919 % 700)
    hours = 100_000 + number * 104_729 % 200_000
    work = tuple(Work(item=limit.item, kind="done", date=done, tach_centihours=hours) for limit in LIMITS)
    return work, hours + number * 31 % 2_000


@bench("due list, first page of 10,000 aircraft", unit="us per aircraft")
def first_page() -> Comparison:
    from vanewise.jobs import due_list
    from vanewise.jobs.watch import DueSource
    from vanewise.store import due_rows
    from vanewise.store.settings import configure, migrate

    folder = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    configure(folder / "home")
    migrate()
    # Tables can be named only once Django knows its home.
    from vanewise.store.models import AircraftRow, DueRow

    use = utilisation([], hours_a_year=110.0)
    sources: list[DueSource] = []
    rows, due = [], []
    for number in range(AIRCRAFT):
        work, hours = _history(number)
        source = DueSource(
            limits=LIMITS,
            points=due_points(LIMITS, work),
            put_off=(),
            tach_centihours=hours,
            hour_meter_centihours=None,
            use=use,
            since=TODAY,
            once=(),
            said={},
        )
        sources.append(source)
        name = f"aircraft-{number:05d}"
        rows.append(AircraftRow(aircraft=name, name=name, head=name, length=1, last_at="2031-03-14T10:00:00Z"))
        first = min((point.date for point in source.points if point.date is not None), default=None)
        text = msgspec.json.encode(source).decode()
        due.append(DueRow(aircraft=name, head=name, next_on=str(first or due_rows.FAR), items=text))
    AircraftRow.objects.bulk_create(rows)
    DueRow.objects.bulk_create(due)

    def some_of_them() -> int:
        return sum(len(source.items(TODAY)) for source in sources[:SAMPLE])

    assert len(due_list.listed(TODAY, count=40)) == 40
    return Comparison(
        ours=lambda: due_list.listed(TODAY, count=40),
        ours_per_call=AIRCRAFT,
        reference=some_of_them,
        reference_per_call=SAMPLE,
        reference_name="every aircraft's list worked out from its due points, nothing read",
        at_least=20.0,
    )
