"""How numbers and chances are written on a page. Registered as built-in template filters."""

from __future__ import annotations

import datetime
import re
from typing import Any

from django import template

from vanewise import chances, quantities
from vanewise.watch.due import when_words

register = template.Library()
_CHANCE = re.compile(r"\b([\d,]+) in ([\d,]*\d)\b")


@register.filter
def inhg(pressure_pa: float | None) -> str:
    """A difference in Pa as people read it: ``4.9 inHg``; a dash where there is none."""
    return "–" if pressure_pa is None else quantities.shown(pressure_pa, "pressure")


@register.filter
def reading(value_inhg: float | None) -> str:
    """A reading already in inHg, with its unit."""
    return "–" if value_inhg is None else f"{value_inhg:.1f} inHg"


@register.filter
def cfm(value: float | None) -> str:
    return "–" if value is None else f"{abs(value):.1f} cfm"


@register.filter
def rpm(value: float | None) -> str:
    return "–" if value is None else quantities.shown(float(value), "rpm")


@register.filter
def feet(altitude_m: float | None) -> str:
    return "–" if altitude_m is None else quantities.shown(altitude_m, "altitude")


@register.filter
def chance(probability: float) -> str:
    """A probability in words, one figure: ``7 in 10``, ``1 in 40``."""
    return chances.chance(min(1.0, max(0.0, probability)))


@register.filter(is_safe=True)
def unbroken(words: str) -> str:
    """Words with each of their chances kept on one line: a telephone breaks ``1 in 10`` in two otherwise."""
    return _CHANCE.sub("\\1\N{NO-BREAK SPACE}in\N{NO-BREAK SPACE}\\2", str(words))


@register.filter
def hours(centihours: int | None) -> str:
    """Hundredths of an hour as a meter shows them: ``2,983.9 h``."""
    if centihours is None:
        return "–"
    whole, rest = divmod(abs(centihours), 100)
    sign = "-" if centihours < 0 else ""
    return f"{sign}{whole:,}.{rest:02d}".rstrip("0").rstrip(".") + " h"


@register.filter
def day(value: datetime.date | str | None) -> str:
    """A date as people read it: ``22 Feb 2025``."""
    if not value:
        return "–"
    if isinstance(value, str):
        try:
            value = datetime.date.fromisoformat(value[:10])
        except ValueError:
            return value
    return f"{value.day} {value:%b %Y}"


@register.filter
def moment(value: str) -> str:
    """A moment of the journal as people read it: ``22 Feb 2025, 14:05 UTC``; as it is where it is none."""
    try:
        at = datetime.datetime.fromisoformat(value)
    except ValueError:
        return value
    return f"{at.day} {at:%b %Y, %H:%M} UTC"


@register.filter
def short(digest: str) -> str:
    """The first twelve signs of a digest."""
    return digest[:12] if digest else "–"


@register.filter
def spaced(word: str) -> str:
    return word.replace("_", " ")


@register.filter
def lookup(mapping: dict[str, object], key: str) -> object:
    return mapping.get(key, "")


@register.filter
def clock(degrees: float) -> str:
    """An angle as a clock shows it: ``4:30``."""
    minutes = round(degrees * 2.0) % 720
    hour, rest = divmod(minutes, 60)
    return f"{hour or 12}:{rest:02d}" if rest else f"{hour or 12} o'clock"


@register.filter
def first_word(text: object) -> str:
    """The first word of a text: the number of ``4.9 inHg``."""
    return str(text or "").split(" ")[0]


@register.filter
def figure(value: float | None, followed: Any) -> str:
    """A value of a followed figure with its unit."""
    return "–" if value is None else f"{value:,.{followed.digits}f} {followed.unit}"


@register.filter
def after_colon(text: str) -> str:
    """What a sentence says after naming its subject."""
    return text.partition(": ")[2] or text


@register.filter
def by_when(item: Any) -> str:
    """By when a due item is due, in words."""
    return when_words(item)
