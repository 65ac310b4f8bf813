"""What if: another layout (an instrument off the air, a standby added), and two hose ends exchanged."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

from django.http import HttpRequest, HttpResponse

from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import InputError, wrong
from vanewise.jobs import changing, miswiring
from vanewise.jobs.casebook import open_book, parsed
from vanewise.network.changed import AtSpeed, ChangedLayout
from vanewise.network.miswire import SwapRead, hose_ends
from vanewise.network.miswire import swapped as exchanged
from vanewise.network.observe import gyros
from vanewise.network.standby import STANDBY_KINDS, StandbyKind, with_standby
from vanewise.quantities import M_PER_FT, PA_PER_INHG, to_si
from vanewise.schematic import LineMark, draw
from vanewise.web.views.common import page
from vanewise.web.views.system import pressure_marks
from vanewise.work.hose_map import port_words

READINGS: Final = 3
_STANDBY_WORDS: Final = {
    "standby pump": "an electric standby pump is added",
    "intake source": "a standby from the engine's intake is added",
}


def changed(request: HttpRequest, aircraft: str) -> HttpResponse:
    """An instrument off the air, or a standby added: figures, what to cap, what has to be approved."""
    book = open_book(aircraft)
    description = book.description
    change = request.GET.get("change", "")
    names = description.labels()
    choices = [(f"off:{gyro}", f"{names[gyro]} goes electronic, or comes off") for gyro in gyros(description)]
    choices += [(f"add:{kind}", _STANDBY_WORDS[kind]) for kind in STANDBY_KINDS if _can_have(description, kind)]
    context: dict[str, Any] = {"curve": "changed", "choices": choices, "change": change}
    if change:
        data = _changed(book.version.toml, change)
        field = description.field.elevation.number / M_PER_FT
        context |= {
            "data": data,
            "title": dict(choices).get(change, change),
            "field_ft": field,
            "tables": _tables(data, names),
            "springs": [f"{names[part]}: {words}" for part, words in _springs(data)],
            "removed": [names.get(owner, owner.replace("_", " ")) for owner in data.removed],
            "added": [owner.replace("_", " ") for owner in data.added],
            "to_cap": [port_words(description, port) for port in data.to_cap],
            "adds": change.startswith("add:"),
            "standby_gyros": [names[gyro] for gyro in data.on_standby[0].drops_inhg] if data.on_standby else [],
        }
    return page(request, "changed.html", book, "system", context)


def _can_have(description: AircraftDescription, kind: StandbyKind) -> bool:
    """Whether a standby of that kind can be added to this system."""
    try:
        with_standby(description, kind)
    except InputError:
        return False
    return True


@lru_cache(maxsize=32)
def _changed(toml: str, change: str) -> ChangedLayout:
    description = parsed(toml)
    way, _, what = change.partition(":")
    height = description.field.elevation.number
    if way == "off":
        return changing.instrument_off(description, what, changing.RPMS, height)
    if way == "add":
        return changing.standby_added(description, what, changing.RPMS, height)
    raise wrong("change", "one of the changes on the page", f'"{change}"', "choose one of them")


def _springs(data: ChangedLayout) -> list[tuple[str, str]]:
    return [
        (part, words.partition(": ")[2])
        for part, words in zip(data.spring_change_inhg, changing.spring_words(data), strict=True)
    ]


def _tables(data: ChangedLayout, names: dict[str, str]) -> list[dict[str, Any]]:
    """One table each for the gauge, every instrument, every pump's load and the air: before, untouched, set again."""
    states = (data.before, data.spring_as_it_is, data.spring_set_again)
    first = data.before[0]

    def table(title: str, unit: str, number: Any) -> dict[str, Any]:
        rows = [(points[0].rpm, [number(point) for point in points]) for points in zip(*states, strict=True)]
        return {"title": title, "unit": unit, "rows": rows}

    def drop(gyro: str) -> Any:
        return lambda point: point.drops_inhg.get(gyro)

    def load(pump: str) -> Any:
        return lambda point: point.pump_load_inhg.get(pump)

    found = [table("Panel gauge", "inHg", lambda point: point.gauge_inhg)]
    found += [table(names[gyro], "inHg", drop(gyro)) for gyro in first.drops_inhg]
    found += [table(f"Load of the {names[pump]}", "inHg", load(pump)) for pump in first.pump_load_inhg]
    found.append(table("Air the instruments take", "cfm", _demand))
    return found


def _demand(point: AtSpeed) -> float | None:
    return point.demand_cfm


def swapped(request: HttpRequest, aircraft: str) -> HttpResponse:
    """Two hose ends exchanged, and which exchange would read like what the gauge shows."""
    book = open_book(aircraft)
    description = book.description
    one, other = request.GET.get("one", ""), request.GET.get("other", "")
    labels = description.labels()
    ends = [(port, f"{port_words(description, port)}: {labels[line]}") for line, port in hose_ends(description)]
    context: dict[str, Any] = {"curve": "swapped", "ends": ends, "one": one, "other": other}
    if one or other:
        found = _two_ends(book.version.toml, one, other)
        drawn = exchanged(miswiring.with_known_gauge(description), found.one, found.other)
        parts, lines = pressure_marks(drawn, found.points[-1].now) if found.points[-1].solved else ({}, {})
        lines |= {
            line: LineMark(sign="suspect", title="not where it belongs") for line in (found.one[0], found.other[0])
        }
        context |= {
            "found": found,
            "swap": miswiring.swap_words(description, found.one, found.other),
            "drawing": draw(drawn, parts=parts, lines=lines, title=f"{book.name}, two hose ends exchanged").svg,
        }
    context |= _read_like(request, book.version.toml, description)
    return page(request, "swapped.html", book, "system", context)


@lru_cache(maxsize=32)
def _two_ends(toml: str, one: str, other: str) -> miswiring.TwoEnds:
    return miswiring.two_ends(parsed(toml), one, other)


@lru_cache(maxsize=32)
def _alike(toml: str, readings: tuple[tuple[float, float], ...]) -> miswiring.ReadLike:
    return miswiring.read_like(parsed(toml), dict(readings))


def _read_like(request: HttpRequest, toml: str, description: AircraftDescription) -> dict[str, Any]:
    """The second question of the page, once a reading is given."""
    usual = [description.engine.cruise_rpm, description.engine.run_up_rpm, description.engine.idle_rpm]
    asked = []
    readings = []
    for number in range(READINGS):
        rpm = request.GET.get(f"rpm{number}", "") or f"{usual[number].number:.0f}"
        reading = request.GET.get(f"reading{number}", "")
        asked.append({"number": number, "rpm": rpm, "reading": reading})
        if reading.strip():
            speed = to_si(rpm.strip(), "rpm", "engine speed", "rpm")
            readings.append((speed, to_si(reading.strip(), "pressure", "reading", "inHg") / PA_PER_INHG))
    if not readings:
        return {"asked": asked}
    alike = _alike(toml, tuple(readings))
    rows = [_swap_row(description, swap) for swap in alike.fits[: miswiring.SHOWN] or alike.nearest]
    return {
        "asked": asked,
        "alike": alike,
        "swaps": rows,
        "more": len(alike.fits) - miswiring.SHOWN,
        "mapped": list(alike.as_mapped_inhg.values()),
        "speeds": list(alike.readings_inhg),
        "not_alone": miswiring.NOT_ALONE,
    }


def _swap_row(description: AircraftDescription, swap: SwapRead) -> dict[str, Any]:
    return {
        "words": miswiring.swap_words(description, swap.one, swap.other),
        "address": f"?one={swap.one[1]}&other={swap.other[1]}",
        "gauge": swap.gauge_inhg,
        "same_bore": swap.same_bore,
    }
