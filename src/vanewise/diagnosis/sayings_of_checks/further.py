"""How people tell of the checks of what is fitted besides, what was left open or swapped, and what goes with warmth."""

from __future__ import annotations

from typing import Final

from vanewise.diagnosis.sayings_of_checks.base import CURED, FINE, SAME, Told

FURTHER: Final[dict[str, Told]] = {
    "open_ports_look": Told(
        done=(
            "counted/count/@look caps/plugs",
            "@look at/for/over/all caps/plugs/open ports/port",
            "@look behind panel for/open/cap/caps/plugs/ports/port/loose",
            "@look all/every ports/port/tees/tee",
        ),
        says={
            "all_closed": (*FINE, "all/every closed/capped/there/plugged", "none open/missing", "no open"),
            "line_off": ("line/hose/tube off/loose/disconnected/hanging/adrift",),
            "one_open": ("open/uncapped", "cap/plug missing/gone/off", "missing cap/plug"),
        },
    ),
    "hose_map_trace": Told(
        done=(
            "traced/trace/followed/tracing/follow/tracked all/every/each/the @hose",
            "traced/trace/followed/tracing/tracked @hose",
            "compared/checked/@look/traced all/every/each @hose against/with/to drawing/map/diagram/manual/schematic",
            "@hose against/with/to drawing/map/diagram/manual/schematic",
        ),
        says={
            "as_mapped": (
                *FINE,
                "as mapped/drawn/should/drawing/manual",
                "right/correct/correctly",
                "where should/belongs/belong/book/drawing/manual",
            ),
            "at_instrument": (
                "@gyro swapped/crossed/exchanged/backwards/reversed",
                "in/inlet out/outlet swapped/crossed/exchanged/reversed @gyro",
                "swapped/crossed/exchanged/reversed at/on @gyro",
            ),
            "swapped": ("swapped/crossed/exchanged/reversed/mixed/wrong/backwards",),
        },
    ),
    "ports_look": Told(
        done=(
            "@look at/in/over/behind @gyro ports/hoses/connections/fittings/plugs",
            "@look @gyro ports/hoses/connections/plugs/fittings",
            "@look at/in ports/hoses/connections/plugs/fittings of/on/behind/at @gyro",
            "@look ports/hoses/connections/plugs @gyro",
        ),
        says={
            "open_and_right": (*FINE, "right/correct", "all open", "no plug/plugs", "where belong/should"),
            "plugged": ("plug/plugged/cap/capped/tape/bung/blanked",),
            "exchanged": ("exchanged/swapped/crossed/reversed/backwards/wrong",),
        },
    ),
    "mount_look": Told(
        done=(
            "level/spirit/@look on/against @gyro face/bezel/panel/case",
            "@look @gyro mounting/mount/mounts/screws/level/straight",
            "@look at @gyro mounting/mount/mounts/screws",
            "@look mounting/mount/mounts/screws of/on @gyro",
            "@look if/whether @gyro level/straight/tight/loose",
            "put level on/across panel/@gyro",
            "tightened/tried @gyro screws/mounting",
        ),
        says={
            "level_and_tight": (*FINE, "level/straight tight", "tight", "level", "square"),
            "askew_or_loose": (
                "not level/straight/tight",
                "loose/crooked/askew/tilted/cocked/skewed",
                "degree/degrees off/out",
                "out level",
            ),
        },
    ),
    "pump_marking_look": Told(
        done=(
            "@look/compared/read pump arrow/marking/mark/rotation/part/number/plate/label/direction",
            "@look/compared/read arrow/marking/mark/rotation/plate/label/number on/of pump",
            "@look/compared at rotation/arrow/plate/label/marking pump",
            "pump arrow/marking/rotation/plate/label @look/compared/read",
            "arrow/marking/rotation/plate/label on/of pump @look/compared/read",
            "@look/compared at pump rotation/arrow/plate/label/marking/number",
        ),
        says={
            "matches": (*FINE, "match/matches/matched/right/correct/same/agrees/agree"),
            "wrong_hand": (
                "wrong/other/opposite hand/way/one/direction/rotation/pump/number",
                "not match/for/right",
                "wrong",
            ),
        },
    ),
    "pump_port_look": Told(
        done=(
            "@look at/over/round/around pump ports/port/fittings/bosses/boss for/crack/cracks/light/lamp",
            "@look at/over/round/around pump ports/port/bosses/boss",
            "@look pump ports/port/bosses/boss",
            "@look ports/port/bosses/fittings of/on pump",
            "@look for cracks/crack pump",
        ),
        says={
            "sound": (*FINE, "no crack/cracks", "not crack/cracked"),
            "cracked": ("crack/cracked/cracks/split",),
        },
    ),
    "pad_joint_look": Told(
        done=(
            "+cleaned/clean/wiped/washed/dye/dyed pad/pump/base/joint ran/run/where",
            "+dye pad/oil/pump/drain",
            "+cleaned/wiped/washed pad/joint/base/pump ran/run",
            "+cleaned/wiped/washed ran/run @look/oil where",
        ),
        says={
            "dry": (*FINE, "dry", "no oil"),
            "from_drain": ("drain/weep/seal",),
            "from_joint": ("joint/gasket/flange/pad", "between pump/pad"),
        },
    ),
    "regulator_foam_look": Told(
        done=(
            "@look at/on/in regulator foam/sock/garter/filter",
            "@look regulator foam/sock/garter/filter",
            "@look foam/sock/garter/filter on/of regulator",
            "@look at foam/sock/garter/filter on/of regulator",
            "squeezed/felt foam/garter/sock",
        ),
        says={
            "clean": (*FINE, "=clean", "whole/new"),
            "clogged": ("clogged/dirty/crumbling/crumbled/crumbs/plugged/black/filthy/loaded/crumbles/full",),
            "missing": ("missing/gone/absent", "no foam/garter/sock/filter", "not there/fitted/on"),
        },
        tells={
            "clogged": (
                "regulator foam/garter/sock/filter dirty/filthy/clogged/plugged/black/crumbling/crumbled/loaded/caked",
                "foam/garter/sock/filter on/of regulator dirty/filthy/clogged/plugged/black/crumbling/loaded/caked",
                "dirty/filthy/clogged/plugged/crumbling regulator foam/garter/sock/filter",
            ),
        },
    ),
    "warm_hangar_repeat": Told(
        done=(
            "night/overnight in warm/heated hangar ran/run/tried/started/tested",
            "warm/heated hangar overnight/night",
            "night/overnight in warm/heated/dry hangar",
        ),
        says={"same": (*SAME, "as before"), "right": (*CURED, "works/worked", "all right")},
    ),
    "boots_isolate": Told(
        done=(
            "shut/closed/isolated/turned/=valved/@cap off boots/seal/deice",
            "boots/seal/deice shut/closed/isolated/turned/=valved/capped off",
            "boots/seal/deice isolated/=valved",
            "shut/closed/isolated/=valved boots/seal/deice",
        ),
        says={"no_change": SAME, "recovers": CURED},
    ),
    "accessory_isolate": Told(
        done=(
            "@cap off line/hose/port/supply to/for/of boots/servo/servos/autopilot/accessory/seal/leveler/leveller",
            "@cap line/hose/port/supply to/for/of boots/servo/servos/autopilot/accessory/seal/leveler/leveller",
            "@cap off autopilot/servo/servos/accessory/leveler/leveller",
            "@cap autopilot/servo/servos/accessory/leveler/leveller line/hose/supply/port",
            "autopilot/servo/servos/accessory/leveler/leveller line/hose/supply capped/plugged/blanked/isolated",
        ),
        says={"no_change": SAME, "recovers": CURED},
    ),
    "standby_test": Told(
        done=(
            "tried/tested/test/ran/used/turned/switched/selected/pulled standby",
            "standby on/alone/tried/tested/selected by/itself/own/gauge/and",
            "standby tried/tested/selected/alone",
            "standby on/alone/itself",
        ),
        says={
            "holds": (
                "fine/good/ok/works/worked/normal/holds/held",
                "@up",
                "brings/brought back/up/gauge/gyros",
                "came/comes back/up",
                "full suction/vacuum",
            ),
            "weak": ("weak/low/barely/half/poor/only/hardly",),
            "nothing": ("nothing/dead/zero", "no suction/vacuum/reading/effect/air", "not work/move/do/help/anything"),
        },
    ),
}
