"""Cautions as data: each with what brings it up, shown at the step where it matters and nowhere else.

The texts are the trade's own (common practice, no source). Every one of them gives way to the aircraft's own manual,
the local rules and the judgement of the licensed person who does the work.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec

DEFERENCE: Final = (
    "The aircraft's own manuals, the makers' own sheets, the local rules and the licensed person doing the work come "
    "before every line here."
)


class Caution(msgspec.Struct, frozen=True, kw_only=True):
    """One caution: the step that brings it up, and the words shown there."""

    id: str
    trigger: str
    text: str


def _c(caution_id: str, trigger: str, text: str) -> Caution:
    return Caution(id=caution_id, trigger=trigger, text=text)


_ALL: Final = (
    _c(
        "propeller",
        "any work at propeller or pump",
        "Magnetos off and grounded, key out, mixture cut off, chocks in. Treat the propeller as live: any turn may "
        "fire.",
    ),
    _c(
        "turning",
        "wear port, coupling",
        (
            "Turn propeller or pump only the way the manual permits, slowly; do not force. An impulse magneto can "
            "kick at hand speed."
        ),
    ),
    _c(
        "engine run",
        "engine running",
        "Area clear, brakes on, chocks in, observer placed, fire extinguisher at hand, nothing loose, hair tied back.",
    ),
    _c(
        "spinning gyros",
        "cockpit after a run",
        "Gyros spin for about 15 minutes after the air stops: do not move, tilt or bump aircraft or instrument.",
    ),
    _c(
        "compressed air",
        "compressed air",
        "Never blow into a gyro, a gauge or any port that leads to one. Goggles on, relief valve fitted, 5 psi at most "
        "unless the hose data say otherwise.",
    ),
    _c(
        "thread sealant",
        "pipe thread fittings",
        "Nothing on the threads that can break off and travel. Dry unless the manual says otherwise.",
    ),
    _c(
        "fitting turns",
        "turning a fitting to its angle",
        "More than one turn past hand-tight: stop. Never back off to reach an angle; take it out, use another elbow, "
        "or the manual's own figure.",
    ),
    _c("vise", "holding a pump", "Never clamp the pump body. Only the mounting flange, lightly, in soft jaws."),
    _c("wash", "engine wash", "Bag the pump outlet and the drain before washing; dry run afterwards."),
    _c(
        "regulator lock",
        "regulator screw",
        "The screw stays where it is until the filter is new, leaks are shown to be nil and the gauge is proved.",
    ),
    _c("over the band", "reading above the band", "Above the band: stop. Gyros overspeed; do not fly."),
    _c(
        "suspects open",
        "contamination found",
        "No new pump and no indicator goes on while a part of the list is open.",
    ),
    _c("draft", "return to service", "This is a draft. A certificated person decides and signs."),
    _c("trend", "watching wear", "Readings over time miss sudden failures. Keep a back-up."),
    _c("hot", "engine just run", "Pump, hoses and exhaust are hot: let them cool."),
    _c(
        "solvent",
        "cleaning with solvent",
        "Cold engine, fresh air, no source of ignition, gloves. Keep solvent out of the pump and its coupling.",
    ),
    _c("carbon dust", "cutting a filter open", "Carbon dust: gloves and mask. Do not blow it about."),
    _c(
        "fragment",
        "missing pieces",
        "A piece not found is somewhere: search, and write down where was searched. Think of the engine's accessory "
        "case.",
    ),
    _c("flight check", "check flight", "Daylight, clear of cloud, nobody aboard who need not be, a second pilot."),
    _c(
        "autopilot",
        "autopilot",
        "Do not couple the autopilot until the indicator it follows is proved. Know every way to disconnect it.",
    ),
    _c(
        "cover test",
        "regulator cover test",
        "Covering the regulator's intake: below the knee only, five seconds, helper at the controls, nobody near the "
        "propeller.",
    ),
    _c(
        "suspect indicator",
        "attitude indicator in doubt",
        "No flight by an attitude indicator in doubt and no autopilot coupled to it. Cover it.",
    ),
    _c(
        "dead pump",
        "pump dead on its pad",
        (
            "Do not fly on a dead pump: broken pieces keep turning. Take it off and close the pad as the engine's "
            "data say."
        ),
    ),
    _c(
        "cutting hose",
        "cutting or blowing out a hose",
        "Before a hose is cut or blown out: disconnect the instrument at its other end.",
    ),
    _c(
        "workshop suction",
        "suction source at a gyro",
        "Never above 6 inHg; clean air only. The gyros spin: do not move the aircraft afterwards.",
    ),
    _c(
        "instrument handling",
        "instrument out of the panel",
        "Fully stopped, upright, ports and connectors capped; a half-inch drop on a hard edge can harm it.",
    ),
    _c(
        "instrument inside",
        "instrument opened",
        "Nobody but a properly rated shop opens, oils, blows out or adjusts an instrument.",
    ),
    _c(
        "dropped hardware",
        "nuts and washers at the pad",
        "Close every hole before a nut is loosened. A washer in the engine means the engine comes out.",
    ),
    _c(
        "drawing in",
        "mounting the pump",
        "Never draw the pump in with its nuts: the coupling must engage without force.",
    ),
)

CAUTIONS: Final[Mapping[str, Caution]] = MappingProxyType({caution.id: caution for caution in _ALL})


def texts(*ids: str) -> tuple[str, ...]:
    """The words of the named cautions, in the order given. Raises KeyError for an unknown id."""
    return tuple(CAUTIONS[caution_id].text for caution_id in ids)
