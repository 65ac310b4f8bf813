"""Words of the trade that mean the same, words that carry nothing, and what a clause can be about.

Common trade talk, nobody's list.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

SAME: Final[tuple[tuple[str, str], ...]] = (
    (r"turn (and bank|co-?ordinator|indicator|needle|instrument)", "turnneedle"),
    (
        r"artificial horizons?|attitude( indicators?| gyros?)?|horizon gyro|gyro horizons?|a/?i|adi|ah|att gyro",
        "horizon",
    ),
    (r"horizons", "horizon"),
    (
        r"direction(al)? (gyro|indicator)|heading (indicator|gyro|card)|compass gyro|gyro compass|d/?g|d/?i|hsi|hi",
        "heading",
    ),
    (r"auto-?pilot|a/?p|wing[- ]?level+ers?", "autopilot"),
    (r"vacuum pump|air pump|dry pump|vac pump|suction pump", "pump"),
    (r"low (vacuum|vac|suction|pressure|air)[- ](light|lamp|warning|annunciator)( light| lamp)?", "lamp"),
    (r"(above|over|through) \d[\d,]* ?(feet|ft)", "altitude"),
    (r"stand-by|back-?up", "standby"),
    (r"(vacuum|vac|suction|pressure|air)[- ](warning )?(light|lamp|annunciator)", "lamp"),
    (r"low[- ](light|lamp)|annunciator|warning light|light", "lamp"),
    (r"(vacuum|vac|suction|pressure) (gauge|needle|pointer|reading)", "suction"),
    (r"gyro (pressure|air|suction)|vacuum|vac|pressure|gauge|needle|pointer|reading|reads", "suction"),
    (r"lamp (stays|stayed|is|was) (out|off)", "lamp fine"),
    (r"lamp (came|comes|is|was|went|stays|stayed)? ?on", "lamp lit"),
    (r"rolls|rolled|rolling", "roll"),
    (r"(on and off|off and on)", "intermittent"),
    (r"in-line", "inline"),
    (r"prop", "propeller"),
    (r"gyros?|instruments?", "gyro"),
    (r"hoses", "hose"),
    (r"filters", "filter"),
    (r"pumps", "pump"),
    (r"lazy|sluggish|takes (for ?ever|ages|long|minutes)|takes minutes", "slow"),
    (r"carbon|soot|black (dust|powder)", "carbon"),
    (r"hunts|hunting|oscillates|wanders|wandering|wander|wandered", "wander"),
    (r"overhauled|overhaul|the shop|instrument shop", "overhaul"),
    (r"revs|engine speed|power setting", "rpm"),
    (r"taxiing|taxi|ground idle|idling|throttled back|throttle closed", "idle"),
    (r"in flight|airborne|flight", "cruise"),
    (r"up high|high up|at height|altitude", "altitude"),
    (r"climbing|climbs|climb", "climb"),
    (r"quit|quits|died|dead|failed|fails|gave up|went out|dropped out|kicked off|packed up|conked out", "failed"),
    (r"(fell|falls|flopped|keeled|rolled|roll|turned) (right )?over|toppled|topples|rotated|rotates|spun", "tumbled"),
    (
        r"(not (quite )?in|below|under|out of|(the )?bottom of|lower end of|less than) (the )?(green|band|arc|normal)",
        "low",
    ),
    (r"(lower|less) than (normal|usual|before|it used to be)", "low"),
    (r"(back to|goes back to|right|normal|fine) again|back to normal", "normal-again"),
    (r"leaned|leaning|leans|lean|lists", "lean"),
    (r"drifts|drifting|drift|precesses|precessing", "drift"),
    (r"sags|sagging|sag|drops|dropped|droops|dips|dipped|falls off|fades|tails off", "sag"),
    (r"hissing|hisses|hiss", "hiss"),
    (r"flickers|flickering|flicks|flashes|flashing|blinks|blinking", "flicker"),
    (r"grinding noise|grinds|grinding|grind|growls|growling|growl", "grind"),
    (r"replaced|renewed|exchanged|fitted new", "changed"),
    (r"fine|normal|ok|okay|solid|perfect|rock steady|as always|as ever|works? well|in the green", "fine"),
)
"""Words and phrases of the trade that mean the same here, each brought to one word (whole words, in this order)."""

EMPTY: Final = frozenset(
    re.findall(
        r"\S+",
        "a an the is are was were be been it its it's of on at in to for and or has have had that this with from as by "
        "when while so very just now then there our my we i he she they you about after right-through quite rather yet "
        "all later will would does did since inhg inches psi ft feet degrees degree deg c f rpm's minutes each only",
    )
)
"""Words that carry nothing by themselves."""

NOT: Final = frozenset(
    ("not", "no", "never", "without", "doesn't", "don't", "didn't", "isn't", "wasn't", "won't", "cannot", "can't")
)
"""Words that turn a clause round."""

SUBJECTS: Final = (
    "horizon",
    "heading",
    "turnneedle",
    "suction",
    "lamp",
    "pump",
    "autopilot",
    "hose",
    "filter",
    "regulator",
    "gyro",
    "standby",
    "boots",
)
"""What a clause is about; one without any goes on about what the clause before it was about."""

SOUND: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "horizon": ("ai_leans", "ai_slow_erect"),
        "heading": ("hi_drifts", "hi_sluggish"),
        "gyro": ("ai_leans", "hi_drifts"),
        "autopilot": ("ap_wanders",),
        "turnneedle": ("turn_needle_sluggish",),
        "lamp": ("lamp_on",),
        "suction": ("gauge_low_cruise",),
    }
)
"""What 'fine' says was looked for and absent, by what the clause is about."""
