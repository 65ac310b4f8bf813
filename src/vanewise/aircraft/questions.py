"""Ten questions for a first useful sweep, an eleventh offered: "don't know" is an answer to each.

A question is data: its text, how to look, and its answers with the example shown as assumed, with its source. What
is made of the answers is in :mod:`.answers`.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from vanewise.aircraft.kinds import field_of
from vanewise.provenance import COMMON_PRACTICE, JUDGEMENT, Source, Value
from vanewise.quantities import written

DONT_KNOW: Final = "don't know"
AnswerKind = Literal["choice", "quantity", "hours", "date", "text"]


class AnswerSpec(msgspec.Struct, frozen=True, kw_only=True):
    """One answer of a question. ``assumed`` is what is taken when nobody knows, in words, with its source.

    ``choices`` maps each word to what it means; ``field`` names the number an answer gives: ``(kind, field)``.
    ``asked_when`` names the answer that must have one of the given words for this one to be asked.
    """

    id: str
    label: str
    kind: AnswerKind
    choices: Mapping[str, str] = {}
    field: tuple[str, str] | None = None
    unit: str = ""
    assumed: str = ""
    source: str = ""
    asked_when: tuple[str, tuple[str, ...]] | None = None


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """One question. ``offered`` means that it is not asked unless a person wants it."""

    number: int
    text: str
    how_to_look: str
    answers: tuple[AnswerSpec, ...]
    offered: bool = False


def _choice(
    answer_id: str,
    label: str,
    choices: Mapping[str, str],
    assumed: str,
    source: Source = COMMON_PRACTICE,
    asked_when: tuple[str, tuple[str, ...]] | None = None,
) -> AnswerSpec:
    return AnswerSpec(
        id=answer_id,
        label=label,
        kind="choice",
        choices=MappingProxyType(dict(choices)),
        assumed=assumed,
        source=str(source),
        asked_when=asked_when,
    )


def _quantity(answer_id: str, label: str, kind: str, field: str, example: Value | None = None) -> AnswerSpec:
    """A number of the description. Its example comes from the table of kinds unless another is given."""
    spec = field_of(kind, field)
    if spec is None:
        raise KeyError(f"{kind} has no {field}")
    value = example or spec.default
    return AnswerSpec(
        id=answer_id,
        label=label,
        kind="quantity",
        field=(kind, field),
        unit=spec.unit,
        assumed=written(value.number, spec.dimension, spec.unit) if value else "not known",
        source=str(value.source) if value else "",
    )


def _plain(answer_id: str, label: str, kind: AnswerKind, assumed: str = "not known") -> AnswerSpec:
    return AnswerSpec(id=answer_id, label=label, kind=kind, assumed=assumed)


_AIR_OR_NOT: Final = {"air": "runs on air", "electric": "runs on electricity", "none": "there is none"}
_YES_NO: Final = {"yes": "yes", "no": "no"}
_IN_SUCTION: Final = ("duty", ("suction", DONT_KNOW))
_IN_PRESSURE: Final = ("duty", ("pressure",))

QUESTIONS: Final[tuple[Question, ...]] = (
    Question(
        number=1,
        text="Does the pump suck air through the gyros, or blow into them?",
        how_to_look="A filter can in the engine bay between pump and panel means that it blows. A big filter behind "
        "the panel, open to the cabin, means that it sucks.",
        answers=(
            _choice(
                "duty",
                "the pump",
                {
                    "suction": "sucks air through the gyros (suction duty)",
                    "pressure": "blows into them (pressure duty)",
                },
                "suction",
            ),
        ),
    ),
    Question(
        number=2,
        text="How many engine-driven pumps are there, and is there a standby?",
        how_to_look="Look at the back of the engine: a dry pump is a finned or ribbed can on a square pad, without an "
        "oil line. A wet pump has oil in its outlet and a separator.",
        answers=(
            _choice(
                "pumps",
                "air comes from",
                {
                    "one": "one engine-driven dry pump",
                    "two": "two engine-driven dry pumps",
                    "wet pump": "an oil-lubricated (wet) pump",
                    "venturi": "a venturi tube outside",
                    "all electric": "nothing: no instrument runs on air",
                },
                "one",
            ),
            _choice(
                "standby",
                "standby source",
                {
                    "none": "none",
                    "electric": "an electric pump",
                    "engine intake": "from the engine's intake manifold",
                },
                "none",
            ),
        ),
    ),
    Question(
        number=3,
        text="Which instruments run on air?",
        how_to_look="Hoses of finger thickness at the back of an instrument mean air. The turn instrument is usually "
        "electric, so that not everything fails at once.",
        answers=(
            _choice("attitude", "attitude indicator", _AIR_OR_NOT, "air"),
            _choice("heading", "heading indicator", _AIR_OR_NOT, "air"),
            _choice("turn", "turn indicator", _AIR_OR_NOT, "electric"),
        ),
    ),
    Question(
        number=4,
        text="Is anything else on the same air?",
        how_to_look="An autopilot that takes its attitude from the air-driven indicator has an electric plug at that "
        "indicator's back. One that runs on air has hoses of its own.",
        answers=(
            _choice(
                "autopilot",
                "autopilot",
                {"none": "none", "electric": "an electric one", "air": "one that itself runs on this air"},
                "none",
            ),
            _choice(
                "autopilot_takes_attitude",
                "it takes its attitude from the air-driven indicator",
                _YES_NO,
                "yes, until shown otherwise",
                JUDGEMENT,
                ("autopilot", ("electric",)),
            ),
            _choice("boots", "de-ice boots", _YES_NO, "no"),
            _choice("door_seal", "door seal", _YES_NO, "no"),
        ),
    ),
    Question(
        number=5,
        text="Which filters do you know of?",
        how_to_look="Sucking: one pleated cartridge for all behind the panel, or a small one at each instrument. "
        "Blowing: one at the pump's inlet, one in the line to the panel. The regulator has a foam sleeve of its own.",
        answers=(
            _choice(
                "filters",
                "cabin air is cleaned by",
                {"central": "one filter for all", "each": "a filter at each instrument", "none": "no filter found"},
                "central",
                asked_when=_IN_SUCTION,
            ),
            _choice("inlet_filter", "filter at the pump's inlet", _YES_NO, "yes", asked_when=_IN_PRESSURE),
            _choice("inline_filter", "filter between pump and gyros", _YES_NO, "yes", asked_when=_IN_PRESSURE),
        ),
    ),
    Question(
        number=6,
        text="Where is the gauge connected?",
        how_to_look="Two thin lines from the gauge to the two sides of an instrument: across it. One thin line to a "
        "manifold or the regulator, and nothing or a filter on the other port: against the cabin.",
        answers=(
            _choice(
                "gauge",
                "the gauge is connected",
                {"across": "across an instrument", "cabin": "one line against the cabin"},
                "unknown: both curves are shown, and the answer is given for each",
                JUDGEMENT,
            ),
        ),
    ),
    Question(
        number=7,
        text="What did the gauge read in cruise when all was well, and what band is on its face?",
        how_to_look="The record of the last ground run, or a picture of the panel from a good day.",
        answers=(
            _quantity("gauge_cruise", "reading in cruise", "regulator", "setting"),
            _quantity("band_low", "low end of the band", "gauge", "band_low"),
            _quantity("band_high", "high end of the band", "gauge", "band_high"),
        ),
    ),
    Question(
        number=8,
        text="Which engine speeds do you use, and how fast does the pump turn?",
        how_to_look="The flight manual for the speeds; the engine's data sheet for the drive ratio of the pump's pad.",
        answers=(
            _quantity("idle_rpm", "idle", "engine", "idle_rpm"),
            _quantity("run_up_rpm", "run-up", "engine", "run_up_rpm"),
            _quantity("cruise_rpm", "cruise", "engine", "cruise_rpm"),
            _quantity("max_rpm", "highest", "engine", "max_rpm"),
            _quantity("drive_ratio", "pump turns for one engine turn", "pump", "drive_ratio"),
        ),
    ),
    Question(
        number=9,
        text="Is there a low-suction or low-pressure lamp, and at what engine speed does it go out?",
        how_to_look="After start, raise the engine speed slowly and note where it goes out.",
        answers=(
            _choice("lamp", "lamp", _YES_NO, "no"),
            AnswerSpec(
                id="lamp_out_rpm",
                label="it goes out at",
                kind="quantity",
                field=("engine", "run_up_rpm"),
                unit="rpm",
                assumed="not known",
                asked_when=("lamp", ("yes",)),
            ),
        ),
    ),
    Question(
        number=10,
        text="Where is the home field, and how old are pump, filter and hoses?",
        how_to_look="The maintenance record, the tag on the filter, the cure date printed on the hose.",
        answers=(
            _quantity("elevation", "field elevation", "field", "elevation"),
            _quantity("latitude", "latitude (for the heading indicator's drift)", "field", "latitude"),
            _plain("tach", "tach time now", "hours"),
            _plain("hour_meter", "hour meter now", "hours"),
            _plain("read_on", "read on", "date"),
            _plain("pump_on", "pump fitted on", "date"),
            _plain("pump_tach", "pump fitted at tach time", "hours"),
            _plain("filter_on", "filter changed on", "date"),
            _plain("filter_tach", "filter changed at tach time", "hours"),
            _plain("hoses_on", "hoses fitted on", "date"),
        ),
    ),
    Question(
        number=11,
        text="What was last done on this system, and when?",
        how_to_look="The last entries of the maintenance record that name pump, hose, filter, regulator or gyro.",
        answers=(_plain("last_work", "last work", "text"),),
        offered=True,
    ),
)
