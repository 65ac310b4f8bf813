"""How people tell of the checks of records, gauge, instruments, regulator, intake filter, lamp and autopilot."""

from __future__ import annotations

from typing import Final

from vanewise.diagnosis.sayings_of_checks.base import FINE, SAME, Told

PANEL: Final[dict[str, Told]] = {
    "records_look": Told(
        done=(
            "@look/read/through log/logs/logbook/logbooks/records/books",
            "@look in/at/through log/logs/logbook/logbooks/records/books",
            "went/gone through log/logs/logbook/logbooks/records/books",
        ),
        says={
            "nothing": (*FINE, "no work/entry/entries", "not work/touched"),
            "other_work": (
                "panel/avionics work",
                "@hose replaced/changed/worked/cleaned/flushed",
                "work/worked on",
                "lines cleaned/flushed/blown",
                "found pump/filter/gyro/work",
                "gyro/horizon/heading changed/replaced",
            ),
            "no_line_cleaning": (
                "no mention/record/word/entry cleaning/flushing/cleaned/flushed",
                "pump changed/replaced no/nothing/not cleaning/flushing/cleaned/flushed",
                "@hose not/never cleaned/flushed/blown",
                "nothing cleaning/flushing/cleaned/flushed",
            ),
        },
    ),
    "engine_off_gauge": Told(
        done=("@look/watched gauge/needle/pointer engine off/stopped", "engine off @look/watched gauge/needle/pointer"),
        says={
            "on_stop": (*FINE, "on stop/peg/zero", "fell/dropped/back zero/stop", "at zero", "fell/dropped"),
            "off_stop": ("off/above stop/zero", "not zero/stop", "half/one/two inch", "not on zero/stop"),
            "does_not_fall": ("not fall/drop/come", "stayed up", "stayed there", "hung"),
        },
        tells={
            "on_stop": ("gauge/needle/pointer on zero/stop/peg engine off", "engine off gauge/needle on zero/stop/peg"),
        },
    ),
    "coast_down_listening": Told(
        done=(
            "listened @gyro",
            "listened running/coast/spool/run/coasting",
            "timed @gyro run/coast/spool/running/rundown",
            "timed run/coast/spool/rundown/coastdown",
        ),
        says={
            "long_and_quiet": (*FINE, "long", "quiet", "smooth", "minutes smooth/quiet", "ten/eleven/twelve minutes"),
            "short_or_noisy": (
                "short",
                "noisy/noise/rough/rumble/rumbled/growl/growled/grind/grinding/ground/rattled/rattle",
                "one/two/three minutes",
                "under/less minute/minutes",
            ),
        },
    ),
    "gauge_at_run_up": Told(
        done=(
            "read/noted/wrote/looked gauge/suction/vacuum at/during/on runup",
            "runup read/noted/wrote/looked gauge/suction/vacuum",
        ),
    ),
    "sweep": Told(
        done=(
            "sweep/swept rpm/revs/speed/engine/suction/gauge/idle",
            "did/done/made/ran/flew sweep",
            "ran/run/took it/engine in/through steps",
            "ran/run engine from idle to/up",
            "idle to/up full/runup/cruise/top noted/wrote/logged/suction/gauge",
            "wrote/noted/logged suction/gauge/vacuum at/every/each rpm/speed/step/hundred",
        ),
    ),
    "test_gauge": Told(
        done=(
            "test/calibrated/master/reference gauge",
            "hooked/hung/teed/connected/plumbed/fitted @other gauge",
            "teed gauge",
            "compared gauge gauge",
            "~@swap gauge",
            "~@other gauge @reads",
            "~gauge swapped/exchanged/replaced/changed",
        ),
        says={
            "agrees": (
                "same",
                "agree/agrees/agreed/match/matches/matched/identical",
                "within tenth/tenths/hair/needle",
                "no change/difference",
                "not change",
                "spot on",
                "gauge right/fine/good/ok/honest/true/correct",
                "reads/read right/true/correct/correctly",
            ),
            "differs": (
                "different",
                "differ/differs/disagree/disagrees/differed/disagreed",
                "inch/inches more/less/higher/lower/low/high/apart/off/out",
                "half/tenths more/less/higher/lower/low/high/apart/off/out",
                "not agree/match/same",
                "panel/ours gauge @reads/off/out/wrong/lies high/low/inch/off/out/wrong",
                "gauge lies/lied/wrong/off",
                "reads/read right/normal/fine/five now",
                "now reads/fine/normal/right/five",
                "cured/fixed",
            ),
        },
    ),
    "test_gauge_across_instrument": Told(
        done=(
            "test/calibrated/second/another/master gauge across @gyro",
            "gauge across @gyro",
            "gauge between inlet/in outlet/out @gyro",
        ),
    ),
    "intake_filter_look": Told(
        done=(
            "@pull out/down/off central/intake/main/cabin/gyro/air filter",
            "@pull central/intake/main/cabin/gyro/air filter out/off/down",
            "central/intake/main/cabin/paper filter taken/pulled/removed/out",
            "@pull central/intake/main/cabin filter",
            "@look at/over/in central/intake/main/cabin filter",
            "@look central/intake/main/cabin filter",
            "opened/cut central/intake/main/cabin filter",
        ),
        says={
            "light": (*FINE, "=clean", "light/lightly/little dust/dusty", "spotless"),
            "loaded": (
                "dirty/filthy/clogged/loaded/black/grey/gray/plugged/full/caked/grubby/furry",
                "full dust/lint/dirt",
            ),
            "wet": ("wet/soaked/damp/water", "tar/brown/sticky/nicotine/smoke"),
            "missing": ("missing", "no element/filter/cartridge", "empty", "not there/fitted", "nothing in"),
        },
    ),
    "filter_drop": Told(
        done=(
            "measured/measure drop across/over/through filter",
            "gauge across/over filter",
            "pressure/suction drop/difference across/over filter",
        ),
    ),
    "regulator_filter_off": Told(
        done=(
            "@pull foam/sock/garter/filter off regulator",
            "@pull regulator foam/sock/garter/filter off/away",
            "@pull off regulator foam/sock/garter/filter",
            "@pull off foam/sock/garter/filter regulator",
            "ran/run without/minus foam/garter/sock",
            "foam/garter/sock off regulator reading/gauge/suction/needle",
        ),
        says={
            "unchanged": (*SAME, "not/nothing move/moved/budge/budged", "nothing/same reading", "stayed where"),
            "falls": (
                "fell/dropped/down/came/went/sank down/to/back/by",
                "dropped/fell/sank",
                "lower",
                "back normal/setting/five/green/band",
            ),
        },
    ),
    "isolate_gyro": Told(
        done=(
            "@cap off @gyro",
            "@cap @gyro",
            "@gyro capped/blanked/isolated/plugged off",
            "@gyro capped/blanked/isolated",
            "took @gyro off/out air/line/system",
            "with/without @gyro out/off system/line/circuit",
        ),
    ),
    "regulator_seat_look": Told(
        done=(
            "open/opened/stripped/disassembled/dismantled/split regulator",
            "regulator opened/stripped/disassembled/apart/open",
            "took regulator apart/down/open",
            "@look in/inside/into regulator",
            "@look in/at/inside/into/on regulator seat/poppet",
            "@look regulator seat/poppet",
        ),
        says={
            "clean": (*FINE, "=clean"),
            "sooty": ("sooty/soot/black/carbon/dusty/dust",),
            "grit_bedded": (
                "grit/dirt/chip/chips/piece/bit/bits/crumb/speck in/on/under/bedded seat/poppet/valve",
                "grit/dirt/dirty/chip/speck/crumb",
            ),
            "stays_open": (
                "not shut/close/seat/closing/seating",
                "stuck/stays/stayed/hung/held/jammed open",
            ),
            "stays_shut": ("not open/opening/lift/lifting", "stuck/stays/stayed/jammed shut/closed", "stuck"),
        },
    ),
    "swap_indicator": Told(
        done=(
            "~@swap @other @gyro",
            "~@swap out @gyro",
            "~swap/swapped/exchanged/replaced/changed/substituted @gyro",
            "~@gyro swapped/exchanged/substituted/replaced/changed",
            "~put/fitted/tried/installed @other @gyro",
            "~put/fitted/tried/installed @gyro from",
            "~borrowed @gyro",
            "~another/loaner/borrowed @gyro",
        ),
        says={
            "no_change": (
                "same",
                "no change/difference/improvement/better",
                "not change/help/cure/fix/improve",
                "nothing changed",
                "still leans/lean/drifts/drift/slow/there/wanders/does/wrong/tumbles/low/falls",
                "fault/problem/trouble stayed/remained/remains/there",
                "leans/drifts too/also/well",
                "just as bad/slow",
            ),
            "fault_goes": (
                "fault/problem/trouble/lean/drift goes/went/followed/moved/follows/gone",
                "went/goes/gone/moved/followed/follows with it/instrument/gyro",
                "fixed/cured/gone",
                "fine/good/ok/perfect/normal/straight/steady",
                "works/worked/runs perfectly/fine/now",
            ),
        },
    ),
    "indicator_bench": Told(
        done=(
            "~@gyro @shop",
            "~@shop found/says/said/reports/reported/put/tested/checked/had @gyro",
            "@gyro bench/benched tested/checked/tests",
            "bench/benched tested/checked/test @gyro",
            "~sent/send/took @gyro @shop",
        ),
        says={
            "sound": (
                "fine/good/ok/sound/perfect/passed/pass/passes/healthy",
                "no/nothing fault/wrong/found",
                "not fault",
            ),
            "worn": (
                "bearing/bearings worn/rough/bad/gone/shot/dry/noisy/tired",
                "worn bearing/bearings",
                "rough bearing/bearings",
            ),
            "dirty": ("dark/black/carbon dust/powder/inside", "dust/carbon/dirt/soot in/inside", "dirty/filthy inside"),
        },
    ),
    "cover_test": Told(
        done=(
            "@cover over/on regulator",
            "@cover over/on regulator intake/inlet/filter/opening/holes/foam/vent",
            "@cover regulator intake/inlet/opening/holes/foam/vent/port",
            "@cover intake/inlet/opening/holes/vent regulator",
            "regulator covered/taped/blocked with/by @cover",
            "cover test/check regulator/done/did",
            "did/done cover test",
        ),
    ),
    "case_suction": Told(
        done=(
            "suction/vacuum/sucked on/to @gyro case",
            "@gyro case suction/vacuum/sucked/leak",
            "leak tested/checked/test @gyro case",
        ),
        says={
            "tight": (*FINE, "tight", "no flow/leak", "held", "not leak"),
            "flows": ("flow/flows/flowed", "leak/leaks/leaked", "not hold/tight"),
        },
    ),
    "instrument_inlet_look": Told(
        done=(
            "@look in/into/inside/at @gyro inlet/port/screen/connection",
            "@look @gyro inlet/screen/port",
            "@look at/in/into inlet/screen of/on @gyro",
            "@look at/in/into inlet/air port of/on/behind @gyro",
            "white cloth/cotton/swab in/into/at @gyro port/inlet",
            "swabbed/wiped @gyro port/inlet",
            "swab/cloth @gyro port/inlet",
        ),
        says={
            "clean": (*FINE, "=clean"),
            "grey": ("grey/gray/dusty",),
            "black": ("black/carbon/soot/sooty/dark",),
        },
    ),
    "regulator_adjustment_check": Told(
        done=(
            "compared/counted regulator/adjusting/adjustment screw/threads",
            "counted threads regulator/screw/adjuster/showing",
            "@look regulator/adjusting screw against photo/record/picture/photograph/mark/paint",
        ),
        says={
            "as_recorded": (
                *FINE,
                "same",
                "as recorded/before/photo/photographed/photograph",
                "not moved/turned/touched",
            ),
            "turned": ("turned/moved/different/changed/screwed", "not same", "turn/turns/threads in/out/less/more"),
        },
    ),
    "lamp_test": Told(
        done=(
            "pressed/pushed/press/push test lamp/light/bulb",
            "press/pressed/pushed lamp/light test",
            "press test lamp/light",
            "tested lamp/light/bulb/annunciator",
            "test/tested lamp/light/annunciator",
            "lamp/light tested/test",
        ),
        says={
            "right": ("fine/ok/okay/good/normal", "works/worked", "lights/lit/came on", "trips where/right"),
            "wrong": (
                "dark/dead/nothing",
                "not light/lit/come/work",
                "stays/stayed dark/off",
                "trips/tripped late/early/elsewhere",
            ),
        },
    ),
    "autopilot_test": Told(
        done=(
            "autopilot ground test/check/tested/checked",
            "ground tested/checked/test autopilot",
            "tested/test autopilot ground",
            "ran autopilot ground/self test",
        ),
        says={
            "passes": (*FINE, "pass/passes/passed", "works/worked"),
            "fails": ("fail/fails/failed", "not pass/hold/engage/work", "wanders/wandered/rolled/rolls"),
        },
    ),
}
