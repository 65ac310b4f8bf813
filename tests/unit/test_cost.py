"""The cost of a job at prices a person gave: exact, and honest about what it leaves out."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from vanewise.aircraft.layouts import make
from vanewise.errors import InputError
from vanewise.work import log as job
from vanewise.work.cost import LABOUR, cost, items, price_of
from vanewise.work.plan import plan

PACKAGE = plan(make("suction-one-pump"), "worn_vanes", None, today=datetime.date(2025, 3, 1), place="pump")


def test_no_price_is_invented():
    assert cost(PACKAGE, {}) is None


def test_parts_and_hours_add_up_by_hand():
    pump = next(part for part in PACKAGE.parts if part.startswith("pump"))
    found = cost(PACKAGE, {pump: "412,50", "pad seal": "8.1", LABOUR: "90"})
    assert found is not None
    assert found.parts == Decimal("420.60")
    assert found.labour == (Decimal(90) * Decimal(str(PACKAGE.minutes)) / 60).quantize(Decimal("0.01"))
    assert found.total == found.parts + found.labour
    assert set(found.without) == set(items(PACKAGE)) - {pump, "pad seal", LABOUR}


def test_a_hundred_cents_are_a_whole():
    given = dict.fromkeys(PACKAGE.parts[:3], "0.1")
    found = cost(PACKAGE, given)
    assert found is not None
    assert found.parts == Decimal("0.30")


@pytest.mark.parametrize("text", ["12 dollars", "-3", "1.234", "nan", "1e3", ""])
def test_what_is_no_price_is_refused(text: str):
    with pytest.raises(InputError, match="without a currency"):
        price_of(text)


def test_a_price_is_kept_and_taken_back():
    log = job.give_price(PACKAGE, job.start(PACKAGE), "pad seal", "8.10")
    assert log.prices == {"pad seal": "8.10"}
    assert cost(PACKAGE, job.give_price(PACKAGE, log, "pad seal", " ").prices) is None
    with pytest.raises(InputError):
        job.give_price(PACKAGE, log, "gold", "1")
