"""How people tell of the checks of pump, drive, hoses and the filters in the engine bay."""

from __future__ import annotations

from typing import Final

from vanewise.diagnosis.sayings_of_checks.base import FINE, Told

ENGINE_BAY: Final[dict[str, Told]] = {
    "outlet_look": Told(
        done=(
            "@look in/into/up/inside/at pump/exhaust outlet",
            "@look pump outlet/exhaust",
            "@look in/into/up/inside/at outlet/exhaust pump",
            "finger/glove/cloth/swab in/into/up pump outlet/exhaust",
            "finger/glove/cloth/swab in/into/up outlet",
            "@pull off outlet/exhaust hose",
            "@pull outlet/exhaust hose off",
        ),
        says={
            "clean": (*FINE, "=clean"),
            "thin_soot": ("thin/light/little/bit/slight/some/film soot/black/dust/carbon/grey",),
            "heavy_soot": (
                "heavy/thick/lot/lots/full/caked/heaps/much soot/black/dust/carbon",
                "soot/black/carbon everywhere/thick",
                "sooty/black/soot/carbon",
            ),
            "chips": ("chip/chips/flakes/pieces/bits/chunks/fragments",),
            "blocked": ("blocked/plugged/nest/mud/wasp/wasps/closed", "no air through"),
        },
    ),
    "drain_look": Told(
        done=(
            "@look at/under/round/around drain pump/pad",
            "@look at/under/round/around pump/pad drain/pad/base/mount/oil",
            "@look under/round/around/at pump for oil",
            "@look for oil at/under/round pump/drain/pad",
            "@look for oil pump/drain/pad",
        ),
        says={
            "dry": (*FINE, "dry", "no oil", "none", "not drop"),
            "trace": ("trace/drop/smear/little/touch/slight/bit/film oil", "trace/smear/damp", "drop"),
            "wet": ("wet/soaked/dripping/running/oily/covered/full", "lot/lots/full oil"),
        },
    ),
    "hose_squeeze": Told(
        done=(
            "@feel @hose",
            "~@hose @feel",
            "@feel all/every/each @hose",
            "@look at/over all/every/each @hose",
            "@look all/every/each @hose",
            "over all/every/each @hose",
            "~@look at/over @hose",
            "~@look @hose",
        ),
        says={
            "sound": (*FINE, "firm/hard", "no crack/cracks/kink/kinks/soft", "not soft/cracked/one", "all tight"),
            "soft_or_cracked": (
                "soft/spongy/mushy/squishy/cracked/cracks/crack/split/perished/crazed/brittle/collapsing",
                "gave way",
            ),
            "flat_or_off": (
                "flat/flattened/kinked/kink/crushed/collapsed/folded",
                "loose/disconnected/hanging/adrift",
                "came/come/slipped/fallen/popped/was off",
                "off its/fitting/nipple/port/barb",
            ),
        },
    ),
    "wear_port": Told(
        done=(
            "wear/inspection/view/viewing port/window/hole",
            "measured/gauged/read vanes/vane through/at/in/port",
            "stylus/probe/gauge vane/vanes",
        ),
        says={
            "within": (*FINE, "within/inside limit/limits", "all/every vane/vanes within/good/long", "plenty left"),
            "near": ("near/close/almost/nearly/just limit", "one near", "almost worn"),
            "past": (
                "past/below/under/beyond/over/outside limit/limits",
                "worn out",
                "too short",
                "one/two short/past",
            ),
        },
        tells={"past": ("vane/vanes past/below/under/beyond limit/limits wear/port",)},
    ),
    "coupling_look": Told(
        done=(
            "@look at/through/in coupling/drive prop/propeller",
            "+@look/watched coupling/drive/shaft/gap prop/propeller",
            "+prop/propeller turned/moved/pulled/through/by watched/@look coupling/drive/shaft/pump",
            "+turned/moved/pulled/pull/rocked prop/propeller watched/@look coupling/drive/shaft/pump",
            "@look through drive gap",
            "drive gap",
        ),
        says={
            "turns": (
                *FINE,
                "turns/turned/moves/moved along/with/together",
                "both halves/sides turn/move",
                "pump turns/turned",
            ),
            "stands_still": (
                "not turn/move/rotate/follow/budge",
                "still/sat/parted/sheared/broken/snapped",
                "stands/stood/stayed still",
            ),
        },
        tells={
            "stands_still": (
                "pump/shaft/coupling/drive not turn/turning/move with/when prop/propeller",
                "prop/propeller turns/turned pump/coupling/shaft/drive not",
                "prop/propeller turned/moved pump/coupling/shaft/drive stands/stood/sat/stays/stayed",
            ),
        },
    ),
    "coupling_turn": Told(
        done=(
            "turn/turned/turning/spin/spun/rotate/rotated pump by hand/fingers",
            "turn/turned/turning/spin/spun/rotate/rotated pump/@shaft by/with hand/fingers/finger",
            "turn/turned/turning/spin/spun/rotate/rotated pump/@shaft off/bench",
            "+pump off turned/turn/spun/spin/rotated/@look @shaft/by/hand/it",
            "pump off bench/car turned/turn/spun/spin/rotated",
            "+pump off/out/bench @shaft",
            "+pulled/took/removed/unbolted pump off/out @shaft",
            "tried/try turn/turning/spin pump/@shaft",
            "@look at @shaft pump off/out",
        ),
        says={
            "turns_smoothly": (
                "smooth/smoothly/silky/freely/free/easily/easy/nicely",
                "turns/turned/spins/spun fine/ok/good/well",
                "intact/whole",
                "fine/ok/good",
            ),
            "drags": (
                "drag/drags/dragged/dragging/rough/roughly/gritty/notchy/stiff/tight/scrapes/scraping/grates/catches",
                "hard turn/to",
            ),
            "locked_or_parted": (
                "not budge/turn/move/rotate/shift",
                "locked/seized/jammed/solid/stuck/frozen/stiff-solid",
                "sheared/parted/broken/snapped/broke",
                "in two/half/pieces",
                "coupling/shaft/drive spins/turns without/no/not pump/resistance/rotor",
                "no/without resistance",
            ),
        },
        tells={
            "turns_smoothly": (
                "pump/shaft turns/turned/spins/spun smoothly/smooth by/with hand/fingers",
                "coupling intact/whole",
            ),
            "drags": ("pump/shaft rough/gritty/notchy/stiff by/with/when hand/fingers/turned",),
            "locked_or_parted": (
                "coupling/drive/shaft/spline/splines sheared/parted/broken/snapped/broke",
                "coupling/drive/shaft in two/half/pieces",
                "sheared/parted/broken/snapped coupling/drive/shaft",
                "pump/shaft not turn/budge/move/rotate by/with hand/fingers",
                "shaft/pump locked/seized solid",
                "shaft/pump turns/spins freely/no/without resistance",
            ),
        },
    ),
    "section_suction": Told(
        done=(
            "section by section",
            "flow meter/flowmeter section/sections/lines/line",
            "each/every section suction/vacuum/flow",
            "suction/vacuum on/to each/every section/line",
        ),
        says={
            "tight": (*FINE, "tight", "no leak/flow", "held/holds", "not leak"),
            "leaks": ("leak/leaks/leaked/leaking", "flow/flows", "not hold/tight"),
        },
    ),
    "shop_air": Told(
        done=(
            "soap/soapy/soaped/bubble/suds water/on/over/joints/fittings/solution/film/lines/line",
            "soaped/soap joints/fittings/lines/connections/@hose",
            "soap/soaped",
            "leak/pressure tested/test lines/plumbing/system/@hose shop/air/soap",
            "~shop/compressed air lines/plumbing/@hose/joints",
        ),
        says={
            "dry": (
                "no bubble/bubbles/leak/leaks",
                "not bubble/bubbles/leak",
                "nothing",
                "dry/tight/fine/good/clear/ok",
            ),
            "bubbles": ("bubble/bubbles/bubbled/bubbling/foamed/frothed", "found leak/leaks", "leak/leaks at/found/in"),
        },
        tells={
            "dry": ("no bubbles",),
            "bubbles": ("bubbles/bubbled at/from/round/on fitting/elbow/joint/nipple/hose/tee",),
        },
    ),
    "borescope_lines": Told(
        done=(
            "borescope/borescoped/scope/scoped/endoscope/camera @hose",
            "borescope/endoscope/scope/camera in/into/up/through/down @hose/ports/port",
            "@hose borescoped/scoped/endoscope/borescope",
            "white/clean cloth/rag/patch through @hose",
            "cloth/rag/patch/swab/pulled through @hose",
        ),
        says={
            "clean": (*FINE, "=clean/white"),
            "grey_film": ("grey/gray/film",),
            "chips": ("chip/chips/flakes/black/carbon/bits/pieces/specks/crumbs",),
            "liner_or_kink": ("liner/kink/kinked/blockage/blocked/collapsed/delaminated/flap",),
        },
    ),
    "workshop_suction": Told(
        done=(
            "workshop/shop/external/ground/bench suction/vacuum flow/meter/flowmeter/gyro/gyros/system/source/port",
            "suction/vacuum source/cart/rig/pump on/at/to port/system/regulator/manifold",
            "flow meter/flowmeter port/gyros/system/engine/instruments",
            "shop vacuum/vac",
        ),
    ),
    "inline_filter_look": Told(
        done=(
            "@pull/@look/open/opened/cut out/at/in/open/off/apart inline filter",
            "@pull/@look/open/opened/cut inline filter",
            "inline filter cut/opened/out/apart/off",
        ),
        says={
            "light": (*FINE, "=clean/light"),
            "loaded": ("black/dirty/loaded/full/carbon/grey/gray/filthy/clogged/plugged",),
            "past_seal": ("black/dirt/carbon through/past/both", "past/round/around seal", "track past/seal"),
            "missing": ("missing/empty/burst", "no element", "nothing in/inside", "not there"),
        },
    ),
    "inlet_filter_look": Told(
        done=(
            "@pull/@look out/at/in/off pump inlet/intake filter/foam/screen",
            "@pull/@look pump inlet/intake filter/foam/screen",
            "@pull/@look out/at/in/off inlet/intake filter/foam/screen pump",
            "@pull/@look inlet filter",
            "@pull/@look at/out/off inlet filter",
        ),
        says={
            "light": (*FINE, "=clean/light"),
            "loaded": ("dirty/loaded/clogged/plugged/full/black/filthy/caked",),
            "missing": ("missing/empty", "no element/foam", "not there"),
        },
        tells={"loaded": ("pump inlet/intake filter/foam/screen dirty/loaded/clogged/plugged/filthy/black/full",)},
    ),
    "pump_off_look": Told(
        done=(
            "@look in/into/inside/down pump ports",
            "@look in/into/inside/down ports pump",
            "@look ports off/removed pump",
            "pump off/removed @look ports",
        ),
        says={
            "clean": (*FINE, "clean/dry"),
            "oily": ("oil/oily/wet/paste/sludge/goo/gummy",),
            "carbon": ("carbon/chips/pieces/bits/chunks/crumbs", "broken rotor/vane"),
        },
    ),
    "pump_teardown": Told(
        done=(
            "open/opened/opening/stripped/dismantled/disassembled/cracked/split/tore pump",
            "pump =opened/stripped/dismantled/disassembled/apart/torn/teardown",
            "took/taken pump apart/down",
            "tore/teardown pump",
            "inside pump",
            "pump inside",
        ),
        says={
            "ordinary": (*FINE, "ordinary/usual wear", "wear/worn normally/evenly"),
            "broken": (
                "rotor/vane/vanes broken/shattered/cracked/pieces/bits/broke/smashed/two/half/chunks/exploded",
                "broken/shattered/smashed/cracked rotor/vane/vanes",
                "pieces/bits/chunks/shattered/crumbs",
            ),
            "vanes_short": ("vanes/vane short/worn/thin/gone/stubs", "worn/short vanes/vane"),
            "oil_paste": ("oil/oily/paste/wet/sludge/goo/gummy",),
            "foreign_carbon": (
                "carbon/pieces/chips other/another/old/previous/last/foreign/former",
                "extra/foreign/old/strange/spare carbon/pieces/bits/chips/vane",
                "not from/belong this/pump/its",
            ),
            "sealant": ("sealant/tape/teflon/sealer",),
            "vise_marks": ("vise/vice/jaw/jaws", "squeezed/egg/oval bore/housing"),
        },
        tells={
            "broken": (
                "rotor/vanes pieces/bits/shattered/chunks/smashed pump",
                "pump rotor/vanes pieces/bits/shattered/smashed/chunks",
            ),
        },
    ),
    "stop_each_source": Told(
        done=(
            "ran/run/tried/tested each/either pump alone/itself/own/separately",
            "each/either/left/right pump alone/itself/own",
            "shut/shutting/stopped/feathered left/right/one engine/pump",
            "one engine/pump at time",
        ),
        says={
            "both_hold": (*FINE, "holds/held/hold", "same"),
            "one_does_not": (
                "not hold/keep/make/enough/give",
                "left/right/one low/nothing/dead/weak/zero/drops/dropped/only",
                "drops/dropped/fell/zero",
            ),
        },
    ),
}
