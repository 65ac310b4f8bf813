"""Words that do the same work in phrases of checks, what is said of many of them, and the form the phrases have."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec

GROUPS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "look": "look/looked/check/checked/inspected/inspect/examined/examine/peered/peeked/shone/shined/"
        "light/viewed/studied/eyeballed/went-over",
        "pull": "pull/pulled/took/take/taken/removed/remove/popped/peeled/unscrewed/unbolted/slid/slide/"
        "slipped/slip/lifted/drew/whipped",
        "swap": "swap/swapped/exchanged/replaced/changed/substituted/borrowed/tried/fitted/put",
        "other": "another/other/spare/borrowed/loaner/known/second/different/new",
        "feel": "squeeze/squeezed/squished/squashed/bend/bent/twist/twisted/flex/flexed/pinch/pinched/felt/"
        "feel/wiggled/kneaded/pressed",
        "gyro": "horizon/heading/turnneedle/gyro/instrument/indicator",
        "hose": "hose/hoses/line/lines/tube/tubes/pipe/pipes/tubing/plumbing",
        "cover": "cover/covered/block/blocked/plugged/finger/thumb/palm/hand/taped/held",
        "cap": "cap/capped/plug/plugged/blank/blanked/isolated/isolate/=disconnected/clamped",
        "shaft": "shaft/coupling/drive/coupler/splines/spline",
        "shop": "shop/bench/overhauler/repairer",
        "up": "up/rose/jumped/climbed/increased/higher/recovered/shot",
        "bad": "bad/low/weak/failed/dead",
        "reads": "read/reads/reading/showed/shows/show/said/says/indicated/indicates/had",
    }
)
"""Words that do the same work in a phrase."""

FINE: Final = (
    "fine",
    "ok/okay",
    "good",
    "nothing",
    "not anything",
    "sound",
    "no fault/problem/trouble/issue/defect",
    "not fault/problem",
    "nothing wrong/found/there",
    "none found/seen/there/visible",
    "found/saw none",
    "perfect",
    "normal",
    "clear",
)
SAME: Final = (
    "same",
    "no change/difference/improvement/better/effect/odds/help",
    "not change/help/matter/cure/fix/improve",
    "nothing changed",
    "nothing",
    "unchanged",
    "stayed",
    "still @bad/leans/drifts/there/wanders/two/three/four/five/wrong/slow",
    "made not",
)
CURED: Final = (
    "fine",
    "good",
    "ok/okay",
    "normal",
    "cured",
    "fixed",
    "gone",
    "back right",
    "right again",
    "came back/right/up",
    "@up",
    "recovered",
)


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """Ways of saying that one check was done, and what it showed."""

    done: tuple[str, ...]
    says: Mapping[str, tuple[str, ...]] = {}
    """Outcome -> what says so after what was done."""
    tells: Mapping[str, tuple[str, ...]] = {}
    """Outcome -> what tells of check and outcome in one."""
