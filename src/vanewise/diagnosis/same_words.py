"""Words that mean the same, of the trade and of every day, words that carry nothing, and what a clause can be about.

Common trade talk, nobody's list.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

SAME: Final[tuple[tuple[str, str], ...]] = (
    (r"(won|can|doesn|don|didn|isn|wasn|aren|couldn|wouldn|hasn|haven)'?t|cannot|can not", "not"),
    (r"never", "not"),
    (
        (
            r"not get (the |it |this |that )?(regulator|pump|gauge|screw|horizon|heading|gyro|autopilot|filter|hose|"
            r"lamp) to"
        ),
        r"\2 not",
    ),
    (r"(red |amber |low |warning )?(light|lamp) for (the )?(vacuum|vac|suction|gyros?|air)", "lamp"),
    (r"(gyro|instrument|vacuum|vac) (air )?filters?", "central filter"),
    (r"auto pilot", "autopilot"),
    (
        r"(perfectly )?(fine|good)(?= (old |vacuum |vac |air |dry )*(pump|gauge|regulator|filter|hose|horizon|gyro)s?)",
        "",
    ),
    (r"not (functioning|working|operating|performing|reading|indicating) (properly|correctly|normally)", "bad"),
    (
        (
            r"(functioning|working|operating|performing|reading|indicating|running) "
            r"(properly|correctly|normally|perfectly)"
        ),
        "fine",
    ),
    (r"stopp?ed (working|functioning|operating)|ceased (working|to work)", "failed"),
    (r"(setting )?button", "knob"),
    (r"(low )?(vacuum|vac|suction|pressure) (warning|caution)(?! (light|lamp))", "lamp"),
    (r"removed and (reinstalled|refitted|put back)", "refitted"),
    (r"(nothing|not anything) wrong with( the| my| our)?|no (trouble|problems?|issues?) with( the| my| our)?", "fine"),
    (
        r"(turned|cranked|wound|screwed|backed|set) (the |my )?regulator (up|down|in|out|higher|lower)",
        "regulator adjusted",
    ),
    (r"roll(s|ed|ing)?[- ]?out|level(s|led|ling) out", "roll-out"),
    (r"(run|runs|ran|running|winds|winding|spin|spins|spun|spinning|spool|spools|spooled|spooling) down", "run-down"),
    (r"wound down(?= (in|within|quickly|fast|at once))", "run-down"),
    (r"went belly[- ]?up|belly[- ]up", "failed"),
    (
        r"(every )?now and (then|again)|once in a while|from time to time|sporadic(ally)?|occasional(ly)?",
        "intermittent",
    ),
    (r"up and down|down and up", "up-down"),
    (r"the higher (i|we|you|it|she) (climbs?|goe?s?|gets?|fl(y|ies))", "climb"),
    (r"higher", "high"),
    (r"lasted", "endured"),
    (r"lining", "liner"),
    (r"strips?(?! of)", "airstrip"),
    (
        r"(reads|reading|read|indicates|shows) (right|correct|correctly|true)(?! (again|after|once|when|until))",
        "agrees",
    ),
    (
        (
            r"(no|not( very| too| so| quite| all that)?( look| looking| feel| sound| working| reading)?) "
            r"(fine|good|ok|okay|normal|right)(?! (away|hand|side|engine|pump|source|after|again))"
        ),
        "bad",
    ),
    (
        (
            r"(keeps?|kept|still|carries on|carried on) (on )?(running|working|going|runs?|works?)"
            r"( fine| ok| okay| well| as ever| normally)?(?=\W*$)"
        ),
        "fine",
    ),
    (r"(all |perfectly )?good(?! (alone|by|bit|deal|many|few|while|part|half|hour))", "fine"),
    (r"(no|not any) longer|refuses to|fails to|failed to", "not"),
    (r"no matter (what|how|which)( the)?|regardless of( the)?|irrespective of( the)?", "whatever"),
    (r"vacume|vacc?um", "vacuum"),
    (r"giros?", "gyro"),
    (r"hdg", "heading"),
    (r"stand[ -]by|stby|stdby|back[ -]?up|auxiliary|aux", "standby"),
    (r"(vacuum |vac |suction |pressure |air )?(relief|regulating|regulator) valve", "regulator"),
    (r"(vacuum|vac|suction|pressure) regulator", "regulator"),
    (r"george|otto ?pilot|otto", "autopilot"),
    (r"shear (coupling|shaft|drive|pin|neck)|drive (shaft|coupler|dog)|coupler", "drive coupling"),
    (
        r"(inoperative|inop|unserviceable|u/s|out of service|kaput|(does |did |do |is |was |are )?not (work|working))",
        "failed",
    ),
    (r"(screw|knob) (does|did|do) nothing", r"\1 not turn"),
    (r"(does|did|do) (nothing|not do (anything|a thing|much))", "failed"),
    (r"(seized|frozen|froze|locked|stuck|jammed) (solid|fast|tight|up)|bound up|seized up", "seized"),
    (r"(come|comes|came|coming|stand|stands|stood|get|gets|got) up(right)?|right itself|rights itself", "erect"),
    (r"mag(neto)? check|run ?up", "run-up"),
    (r"(power|throttle) (all the way )?(back|off|closed)|low (rpm|revs|power)|taxiway", "idle"),
    (
        (
            r"(popp?ed|came|come|comes|coming|fell|fallen|blew|blown|slid|slipp?ed|pulled|"
            r"worked) (itself )?(off|loose|adrift)"
        ),
        "disconnected",
    ),
    (r"found off", "disconnected"),
    (r"(everything|engine|motor) (shut down|shutdown|stopped|switched off)", "engine off"),
    (r"(creeps|creeping|crept|goes|going|went) up", "climb"),
    (
        (
            r"(turned|cranked|wound|screwed|dialled|dialed|bumped|backed|set)( it|"
            r" the regulator)? (up|down|in|out|higher|lower)"
        ),
        "adjusted",
    ),
    (r"(cranked|wound|screwed|dialled|dialed|bumped|backed)", "adjusted"),
    (
        (
            r"(made |makes |with )?no (difference|change|improvement|better)|(did|does) not "
            r"(help|fix|cure|change(?! (the|a|an|any) ))"
            r"( it| anything| a thing)?|(stay|stays|stayed|is|was|are|does|still|remains) (exactly |just )?the same|"
            r"just as bad|same (as before|again)|still (there|bad|does it)|unchanged"
        ),
        "same",
    ),
    (r"(put|tried|fitted|put in|borrowed) (in )?(another|a second|a spare|a different|a loaner)", "changed"),
    (r"swapped( out)?|swapping( out)?|swap", "changed"),
    (
        (
            r"(tripp?ing|tripp?e?d?s?|click(s|ed|ing)?|cut(s|ting)?|drop(s|ping)|kick(s|ed|ing)|knocks|switches) "
            r"(itself )?(off( ?line)?|out)|disengag(es|ed|ing)"
        ),
        "failed",
    ),
    (
        (
            r"(packed|packs) (it )?(in|up)|let go|crapped out|gave up( the ghost)?|bit the dust|blew up|"
            r"went (dead|bang|kaput)"
        ),
        "failed",
    ),
    (r"pump exhaust|exhaust of (the )?pump|exhaust elbow", "pump outlet"),
    (r"(creeps|creeping|crept|walks|walking|runs|wandered|wanders) off|(is|are|was) (out|off) by|out by", "drift"),
    (r"air (escaping|rushing)|sucking (sound|noise)", "hiss"),
    (
        r"(behind|under|beneath|below) the (dash|dashboard|glareshield|coaming|panel)|near the (glareshield|dash)",
        "behind the panel",
    ),
    (r"(underside|bottom) of the (fuselage|aircraft|airplane|plane|cowl|cowling)", "belly"),
    (
        (
            r"black (crud|gunk|gunge|muck|stuff|debris|flakes|bits|specks|residue|grit|grime|dirt|mess|"
            r"sludge)|graphite( dust| powder)?"
        ),
        "carbon",
    ),
    (r"turn (and bank|co-?ordinator|indicator|needle|instrument)", "turnneedle"),
    (
        r"artificial horizons?|attitude( indicators?| gyros?)?|horizon gyro|gyro horizons?|a/?i|adi|ah|att gyro",
        "horizon",
    ),
    (r"horizons", "horizon"),
    (
        (
            r"direction(al)? (gyro|indicator)|heading (indicator|gyro|card)|compass (gyro|card)|card|gyro compass|"
            r"d/?g|d/?i|hsi|hi"
        ),
        "heading",
    ),
    (r"heading (changes|changing|changed (by|slowly|without|while|when))", "heading drift"),
    (r"auto-?pilot|a/?p|wing[- ]?level+ers?", "autopilot"),
    (r"vacuum pump|air pump|dry pump|vac pump|suction pump", "pump"),
    (r"low (vacuum|vac|suction|pressure|air)[- ](light|lamp|warning|annunciator)( light| lamp)?", "lamp"),
    (r"(above|over|through|at|past) \d[\d,]* ?(feet|ft)", "altitude"),
    (r"stand-by|back-?up", "standby"),
    (r"(vacuum|vac|suction|pressure|air)[- ](warning )?(light|lamp|annunciator)", "lamp"),
    (r"low[- ](light|lamp)|annunciator|warning (light|lamp)|light", "lamp"),
    (r"(vacuum|vac|suction|pressure) (gauge|needle|pointer|reading)", "suction"),
    (r"(gyro|instrument) (pressure|air|suction)|vacuum|vac|pressure|gauge|needle|pointer|reading|reads", "suction"),
    (r"lamp (stays|stayed|is|was) (out|off)", "lamp fine"),
    (
        (
            r"(lit|illuminated|glowing|burning|shining) (lamp|light)|lamp (stays |stayed |is |was |"
            r"remains )?(lit|illuminated|glowing|burning)"
        ),
        "lamp lit",
    ),
    (r"lamp (does |did |will )?not go out", "lamp lit"),
    (r"lamp (came|comes|is|was|went|stays|stayed|remains)?( still| always)? ?on", "lamp lit"),
    (r"lamp (did |does |do )?not (come|comes|came|light|go|goes|went)( up| on)?( at all)?", "lamp not lit"),
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
        (
            r"(not (quite )?in|below|under|out of|(the )?bottom of|lower end of|less than) "
            r"(the )?(green|band|arc|normal|minimum)"
        ),
        "low",
    ),
    (r"(lower|less) than (normal|usual|before|it used to be)", "low"),
    (r"(back to|goes back to|right|normal|fine) again|back to normal", "normal-again"),
    (r"leaned|leaning|leans|lean|lists", "lean"),
    (r"drifts|drifting|drift|precesses|precessing", "drift"),
    (r"sags|sagging|sag|drops|dropped|dropping|droops|dips|dipped|falls off|fades|tails off", "sag"),
    (r"hissing|hisses|hiss", "hiss"),
    (r"flickers|flickering|flicks|flashes|flashing|blinks|blinking", "flicker"),
    (r"grinding noise|grinds|grinding|grind|growls|growling|growl", "grind"),
    (r"replaced|renewed|exchanged|fitted new", "changed"),
    (r"(horizon|heading|turnneedle|gyro|autopilot|lamp) agrees(?! with)", r"\1 fine"),
    (
        (
            r"fine|normal|ok|okay|solid(?! (with|lump|block))|perfect|rock steady|as always|as ever|works? well|"
            r"in the green|(in the middle of|well into|well inside) the (green|band|arc)"
        ),
        "fine",
    ),
    (r"spot on(?! (?:the|a|an|my|its|it|one|some|each)\b)", "fine"),
)
"""Words and phrases of the trade that mean the same here, each brought to one word (whole words, in this order)."""

ALIKE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "slow": "lazy sluggish lethargic lagging lags tardy",
        "lean": "tilt tilted tilts keels keeled cant canted cocked lopsided crooked askew slanted banked lists",
        "wander": "wobble wobbly rock rocks rocking meander weave weaves sway sways hunt hunting waver swim",
        "vibrate": "shudder shiver tremble quiver judder chatter jitter jittery shake shaky buzz",
        "bounce": "twitch twitchy dance dances surge surges pulse pulses pulsing fluctuate fluctuates swings swinging",
        "noise": "howl howling screech squeal squeak whine rattle rumble clatter growl grind whirr loud noisy",
        "hiss": "whistle whistles whistling wheeze",
        "dirty": "filthy clogged plugged choked grimy caked gummed grubby blocked dirt muck grime crud gunk gunge",
        "soft": "squishy mushy spongy floppy limp squashy pliable",
        "cracked": "split splits perished brittle torn ripped chafed holed crazed",
        "kinked": "flattened squashed crushed pinched collapsed squeezed flat",
        "parted": "sheared snapped broke broken stripped severed shattered",
        "seized": "locked stuck jammed frozen binding bound sticky sticks sticking",
        "wet": "soaked damp waterlogged drenched sodden soggy moisture",
        "hot": "scorching burning roasting overheated cooked",
        "spin": "whirl whirls twirl rotate rotating gyrate revolve",
        "adjusted": "tweak tweaked fiddled twiddled altered readjusted",
        "changed": "replaced renewed exchanged substituted",
        "disconnected": "detached adrift undone unhooked",
        "oil": "oily greasy",
        "drip": "weep weeping seep seeping ooze oozing leak leaks leaking streak streaks film puddle drips dribble",
        "line": "tube tubes tubing pipe pipes piping plumbing duct lines",
        "fitting": "elbow nipple union connector",
        "chips": "flakes flake specks fragments bits crumbs shards",
        "crumb": "crumble crumbling crumbled disintegrate disintegrating",
        "hold": "track tracks tracking maintain maintains keep",
        "fault": "problem trouble issue snag squawk complaint symptom",
        "pegged": "maxed peg",
        "nest": "dauber wasp wasps bees insect insects",
        "belly": "underside",
        "rotor": "rotors",
        "cigarette": "fag fags cigs nicotine tobacco",
        "engine": "motor powerplant",
        "rpm": "throttle",
    }
)
"""Everyday words by the one they are taken for, each in whatever form it stands."""

KIN: Final[frozenset[frozenset[str]]] = frozenset(
    frozenset(pair.split())
    for pair in (
        "line hose",
        "drive coupling",
        "shaft coupling",
        "drip streak",
        "carbon dirty",
        "carbon chips",
        "carbon dust",
        "dirty dust",
        "soft kinked",
        "wander bounce",
        "wander lean",
        "wander vibrate",
        "lean drift",
        "failed parted",
        "failed zero",
        "noise hiss",
        "cracked parted",
        "rotor shaft",
    )
)
"""Words that are near each other and not the same: one may be meant where the other is written."""

EMPTY: Final = frozenset(
    re.findall(
        r"\S+",
        "a an the is are was were be been it its it's of on at in to for and or has have had that this with from as by "
        "when while so very just now then there our my we i he she they you about after right-through quite rather yet "
        "all later will would does did since inhg inches psi ft feet degrees degree deg c f rpm's minutes each only "
        "mechanic engineer guy someone somebody looks look looking seems seem like still keeps having us me p again "
        "mbar kpa hpa mmhg ever even actually really",
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

PARTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "horizon": ("ai_leans", "ai_slow_erect", "ai_tumbles", "ai_precesses_after_turn"),
        "heading": ("hi_drifts", "hi_sluggish", "hi_error_after_turns", "hi_spins"),
        "turnneedle": ("turn_needle_sluggish",),
        "suction": ("gauge_low_cruise", "gauge_zero", "gauge_fluctuates", "gauge_high"),
        "lamp": ("lamp_on", "lamp_slow_to_go_out", "lamp_flickers_at_idle", "lamp_dark_on_test"),
        "autopilot": ("ap_wanders", "ap_disconnects", "ap_heading_wanders", "ap_rolls_off"),
        "standby": ("standby_gives_nothing", "standby_never_tested"),
        "coupling": ("coupling_parted", "oil_on_coupling", "pump_shaft_locked"),
        "shaft": ("pump_shaft_locked", "coupling_parted"),
        "rotor": ("pump_shaft_locked", "stopped_suddenly"),
        "pump": ("stopped_suddenly", "pump_noise", "pump_hot", "pump_shaft_locked"),
        "hose": ("hose_soft", "hose_cracked", "hose_kinked", "hose_found_off"),
        "line": ("carbon_in_hose", "hose_cracked", "hose_kinked", "hose_found_off"),
        "filter": ("filter_grey", "filter_black", "inline_filter_black", "intake_filter_changed"),
        "regulator": ("regulator_adjusted", "grit_in_regulator", "foam_crumbs", "regulator_changed"),
        "foam": ("foam_crumbs", "regulator_foam_missing", "inlet_filter_dirty"),
        "boots": ("boots_do_not_fill", "dip_after_boots_stays", "hiss_at_seal"),
        "fitting": ("fitting_cracked", "fitting_overturned", "tape_or_sealant_found"),
        "clamp": ("clamp_loose", "hose_found_off"),
        "gasket": ("oil_at_pad_joint", "wrong_gasket"),
        "outlet": ("soot_heavy", "nest_in_outlet", "outlet_hose_kinked"),
        "belly": ("oil_on_belly",),
        "oil": ("oil_at_drain", "oil_on_belly", "oil_on_coupling", "oil_at_pad_joint"),
        "carbon": ("carbon_in_hose", "soot_heavy", "inline_filter_black", "dust_at_instrument_inlet"),
        "propeller": ("propeller_turned_backwards",),
        "gyro": ("ai_leans", "hi_drifts", "ai_slow_erect", "ai_noise"),
    }
)
"""Part -> what is offered of it where nothing said comes nearer; the most commonly reported first (judgement)."""

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
