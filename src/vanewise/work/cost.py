"""What the job costs, as far as prices were given: exact decimal money in whatever currency the prices are in.

Prices are a person's own. None is supplied, and nothing is converted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Final

import msgspec

from vanewise.errors import wrong
from vanewise.work.types import WorkPackage

LABOUR: Final = "labour, per hour"
"""The price under which an hour of hands-on work is given."""
_PRICE: Final = re.compile(r"^\d{1,9}(?:[.,]\d{1,2})?$")
_CENT: Final = Decimal("0.01")


class Cost(msgspec.Struct, frozen=True, kw_only=True):
    """Sums in the currency of the prices. ``without`` lists what has no price: the total does not hold it."""

    parts: Decimal
    labour: Decimal | None
    total: Decimal
    without: tuple[str, ...]


def price_of(text: str) -> Decimal:
    """A price as typed, with a point or a comma before the cents. Raises :class:`InputError`."""
    cleaned = text.strip().replace(" ", "")
    if not _PRICE.match(cleaned):
        raise wrong("price", 'an amount like "412.50", without a currency', f'"{text}"', "write the number alone")
    return Decimal(cleaned.replace(",", ".")).quantize(_CENT)


def items(package: WorkPackage) -> tuple[str, ...]:
    """Everything that can have a price: parts, consumables, an hour of work."""
    return (LABOUR, *package.parts, *package.consumables)


def cost(package: WorkPackage, prices: Mapping[str, str]) -> Cost | None:
    """The cost of a package at these prices; None while no price is given. Conditional tasks count no hours."""
    given = {item: price_of(text) for item, text in prices.items() if text}
    if not given:
        return None
    parts = sum((price for item, price in given.items() if item != LABOUR), Decimal(0))
    rate = given.get(LABOUR)
    labour = None if rate is None else (rate * Decimal(str(package.minutes)) / 60).quantize(_CENT)
    return Cost(
        parts=parts,
        labour=labour,
        total=parts + (labour or 0),
        without=tuple(item for item in items(package) if item not in given),
    )
