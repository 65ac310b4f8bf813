"""Fill a home with one aircraft that has something on every page. Run by conftest.py in a process of its own.

``seed_home.py HOME`` prints, as JSON, the ids that the addresses need. Everything is invented.
"""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

from PIL import Image, ImageDraw

from vanewise.store import journal
from vanewise.store.journal import ANY_HEAD
from vanewise.store.settings import configure, migrate

AUTHOR = "Ada"
SWEEP = ((700, "1.0"), (1000, "1.8"), (1200, "2.4"), (1500, "3.4"), (1800, "4.4"), (2100, "5.0"), (2400, "5.1"))
SOUND = ((700, "1.8"), (1000, "3.2"), (1200, "4.1"), (1500, "4.6"), (1800, "4.7"), (2100, "4.9"), (2400, "5.0"))


def drawn_elbow() -> bytes:
    """A picture of an elbow in a port, drawn here."""
    picture = Image.new("RGB", (1600, 1200), (170, 165, 150))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((600, 400, 1000, 800), fill=(60, 60, 60))
    draw.line((800, 600, 1250, 720), fill=(180, 140, 40), width=120)
    out = io.BytesIO()
    picture.save(out, "JPEG")
    return out.getvalue()


def main() -> None:
    configure(Path(sys.argv[1]))
    migrate()
    from vanewise.aircraft import layouts
    from vanewise.aircraft.writing import write_description
    from vanewise.jobs import (
        aircraft,
        causes,
        components,
        due_limits,
        evidence,
        flying,
        groundrun,
        kinds,
        lives,
        meters,
        photos,
        tracing,
        wear,
        work,
    )

    for name in layouts.layouts():
        craft = aircraft.keep(write_description(layouts.make(name)), author=AUTHOR)
        if name == "suction-one-pump":
            main_craft = craft
    craft = main_craft
    sound = [
        (kinds.READING, {"reading": f"{value} inHg", "rpm": f"{rpm} rpm", "sound": True, "when": "2020-06-20"})
        for rpm, value in SOUND
    ]
    evidence.add(craft, "", sound, author=AUTHOR)
    lamps = [(f"2024-{month:02d}-05", 1060 + 5 * (month % 3)) for month in range(3, 10)]
    lamps += [("2024-10-05", 1250), ("2024-11-17", 1320), ("2024-12-15", 1450)]
    for when, lamp in lamps:
        evidence.add(craft, "", [(kinds.LAMP, {"rpm": f"{lamp} rpm", "when": when})], author=AUTHOR)
    report = evidence.open_report(
        craft,
        "Lamp slow to go out, needle differs after each throttle change.",
        author=AUTHOR,
        when="2025-01-19",
        altitude="400 ft",
        symptoms=[{"symptom": "lamp_slow_to_go_out"}, {"symptom": "gauge_fluctuates"}],
    )
    found = [
        (kinds.READING, {"reading": f"{value} inHg", "rpm": f"{rpm} rpm", "direction": "rising"})
        for rpm, value in SWEEP
    ]
    found += [(kinds.EVENT, {"kind": kind, "hours_ago": "27 h"}) for kind in ("pump_changed", "regulator_adjusted")]
    evidence.add(craft, report, found, author=AUTHOR)
    causes.request(craft, report, author=AUTHOR)
    dusty = evidence.open_report(
        craft,
        "Second pump dead, and the shop found dust in the horizon.",
        author=AUTHOR,
        symptoms=[
            {"symptom": symptom}
            for symptom in ("gauge_zero", "coupling_parted", "shop_found_dust_in_indicator", "ai_leans", "hi_drifts")
        ],
    )
    before = ("pump_changed", "former_pump_short_life", "second_gyro_within_90_days")
    evidence.add(craft, dusty, [(kinds.EVENT, {"kind": kind}) for kind in before], author=AUTHOR)
    causes.request(craft, dusty, author=AUTHOR, refine=False)
    tracing.add_event(craft, report, {"part": "pump", "kind": "stop", "altitude": "5500 ft"}, author=AUTHOR)
    package = work.make_package(craft, report, "debris_left_in_lines", place="pump", author=AUTHOR)
    picture = photos.take(
        craft, package.id[:12], drawn_elbow(), about="pump.inlet", moment="before", author=AUTHOR, note="inlet elbow"
    )
    for role, x, y in (("centre", 0.5, 0.5), ("twelve", 0.5, 0.1), ("tip", 0.8, 0.6)):
        mark = {"photo": picture.id, "role": role, "about": "pump.inlet", "x": str(x), "y": str(y)}
        work.do(craft, package.id[:12], "marked", mark, author=AUTHOR, expected_head=ANY_HEAD)
    run = groundrun.predict(craft, package=package.id, altitude="400 ft", gauge_proved="0.1 inHg", author=AUTHOR)
    readings = [
        {"what": "gauge", "rpm": f"{rpm} rpm", "direction": "rising", "value": f"{value} inHg"} for rpm, value in SOUND
    ]
    groundrun.read_off(craft, run, readings, author=AUTHOR)
    meters.add_meters(craft, tach="2983.9 h", hour_meter="", date="2025-02-22", author=AUTHOR)
    flying.say_flying(craft, "110 h", author=AUTHOR)
    due_limits.take_offered(
        craft, ["annual inspection", "yearly walk-round of the air system", "clamps"], author=AUTHOR
    )
    due_limits.add_done(craft, "annual inspection", date="2024-11-02", tach="2941.6 h", author=AUTHOR)
    limit = {"item": "regulator foam", "nature": "custom", "source": "common practice, no source", "hours": "100 h"}
    due_limits.add_limit(craft, limit, author=AUTHOR)
    due_limits.add_done(craft, "regulator foam", date="2024-11-02", tach="2941.6 h", author=AUTHOR)
    look = {
        "kind": "length",
        "hours": "300 h",
        "length": "0.62 in",
        "new_length": "0.75 in",
        "minimum_length": "0.5 in",
    }
    wear.add_wear(craft, "pump", look, author=AUTHOR)
    for hours in ("610 h", "580 h", "640 h", "600 h", "590 h"):
        ended = {"kind": "coupling", "lived_to": hours, "ended_by": hours, "cause": "sheared"}
        lives.add(craft, ended, author=AUTHOR)
    lives.add(craft, {"kind": "coupling", "lived_to": "400 h"}, author=AUTHOR)
    lives.keep_costs(craft, "coupling", {"planned": "200", "unplanned": "4000"}, author=AUTHOR)
    pump = {"serial": "S-17", "part": "pump"}
    for event in (
        {"kind": "fitted", "date": "2020-06-20", "tach": "2100 h"},
        {"kind": "removed", "date": "2023-03-01", "tach": "2480.5 h", "note": "rotor broken"},
    ):
        components.add(craft, {**pump, **event}, author=AUTHOR)
    ids = {"craft": craft, "report": report, "job": package.id[:12], "run": run, "photo": picture.id, "dusty": dusty}
    sys.stdout.write(json.dumps({**ids, "entry": journal.head(craft)}))


if __name__ == "__main__":
    main()
