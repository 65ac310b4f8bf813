"""The choices that forms offer, made from the core's own tables and the aircraft at hand."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS

Choices = list[tuple[str, str]]

GROUP_TITLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "attitude": "Attitude indicator",
        "heading": "Heading indicator",
        "power": "Gauge and lamp",
        "engine bay": "Pump and engine bay",
        "filter": "Filters and dust",
        "autopilot": "Autopilot",
    }
)


def symptom_groups() -> list[tuple[str, str, list[tuple[str, str]]]]:
    """(group, title, [(id, words)]) of every symptom there is a word for."""
    return [
        (group, title, [(symptom.id, symptom.words) for symptom in SYMPTOMS.values() if symptom.group == group])
        for group, title in GROUP_TITLES.items()
    ]


def symptom_words(symptom: str) -> str:
    known = SYMPTOMS.get(symptom)
    return known.words if known else symptom.replace("_", " ")


def event_words(kind: str) -> str:
    known = EVENTS.get(kind)
    return known.words if known else kind.replace("_", " ")


def check_words(check: str) -> str:
    known = CHECKS.get(check)
    return known.name if known else check.replace("_", " ")


def outcome_words(check: str, outcome: str) -> str:
    known = CHECKS.get(check)
    words = {item.id: item.words for item in known.outcomes} if known else {}
    return words.get(outcome, outcome.replace("_", " "))


def gyros(description: AircraftDescription) -> Choices:
    return [(part.id, part.label) for part in description.parts if KINDS[part.kind].is_gyro]


def ports(description: AircraftDescription) -> Choices:
    """Every point a gauge can be connected to, and the air around."""
    found: Choices = [("cabin", "cabin air"), ("engine bay", "engine bay air")]
    for part in description.parts:
        names = [port.name for port in KINDS[part.kind].ports] + list(part.extra_ports)
        found += [(f"{part.id}.{name}", f"{part.label}, {name.replace('_', ' ')}") for name in names]
    return found


def conditions(description: AircraftDescription) -> Choices:
    """Test conditions a reading can be taken under, as the state each sets."""
    found: Choices = [("", "as in normal running")]
    for part in description.parts:
        if part.kind == "regulator":
            found.append((f"{part.id}.covered", f"air intake of the {part.label} covered by hand"))
            found.append((f"{part.id}.blanked", f"{part.label} blanked off"))
        elif KINDS[part.kind].is_gyro:
            found.append((f"{part.id}.capped", f"{part.label} disconnected, both ends capped"))
    return found


def owners(description: AircraftDescription) -> Choices:
    """Every part and line."""
    return [(owner.id, owner.label) for owner in (*description.parts, *description.lines)]
