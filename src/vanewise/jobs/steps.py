"""Every step of a job: how the texts a person entered become one more line in the log.

Each takes the package, the log so far and the particulars of one kept entry, and gives the log with it, or refuses. The
same functions judge a step before it is kept and read it back later.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, get_args

import msgspec

from vanewise.errors import InputError, Problem, wrong
from vanewise.provenance import Source, Value
from vanewise.quantities import to_si
from vanewise.work import log as logbook
from vanewise.work.fittings import own_limit
from vanewise.work.torque import Wrench, torque_line
from vanewise.work.types import (
    Closure,
    Condition,
    FittingRecord,
    JobLog,
    LineSeen,
    Mark,
    Override,
    PartDocument,
    Photo,
    WorkPackage,
)

Step = Callable[[WorkPackage, JobLog, Mapping[str, Any]], JobLog]


def _done(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.tick(package, log, str(said["task"]))


def _not_done(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.untick(package, log, str(said["task"]))


def _left_out(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.leave_out(package, log, str(said["task"]), str(said.get("reason", "")))


def _count(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    name = str(said["count"])
    out, back = _whole(said, "out"), _whole(said, "in")
    if out is None and back is None:
        raise wrong("count", "how many came out, or went back in", "neither", "count, and write the number")
    return logbook.count(package, log, {} if out is None else {name: out}, {} if back is None else {name: back})


def _whole(said: Mapping[str, Any], key: str) -> int | None:
    text = str(said.get(key, "")).strip()
    if not text:
        return None
    if not text.isdigit():
        raise wrong(key, "a whole number, 0 or more", f'"{text}"', "count again and write the number")
    return int(text)


def _closed(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    closure = Closure(
        suspect=str(said["suspect"]),
        how=said.get("how", ""),
        method=str(said.get("method", "")),
        proof=str(said.get("proof", "")),
        by=str(said.get("by", "")),
        when=_day(said.get("when")),
    )
    return logbook.close_suspect(package, log, closure)


def _connected(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.connect(package, log, str(said["line"]), (str(said.get("start", "")), str(said.get("end", ""))))


def _tags(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    hung = tuple((int(number), str(port)) for number, port in said.get("hung", ()))
    return logbook.hang_tags(package, log, hung)


def _angle(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    name = str(said["fitting"])
    known = next((record for record in package.fittings if record.id == name), None)
    base = log.fittings.get(name) or known or FittingRecord(id=name, port="")
    clock, tight = _degrees(said, "clock"), _degrees(said, "hand_tight")
    condition = str(said.get("condition", "")).strip() or base.condition
    if condition not in CONDITIONS:
        raise wrong("condition", f"one of {', '.join(CONDITIONS)}", f'"{condition}"', "choose what you see")
    record = msgspec.structs.replace(
        base,
        clock_deg=base.clock_deg if clock is None else clock,
        hand_tight_deg=base.hand_tight_deg if tight is None else tight,
        threads=str(said.get("threads", "")).strip() or base.threads,
        limit_turns=own_limit(_turn_number(said, "limit"), str(said.get("manual", "")))
        if str(said.get("limit", "")).strip()
        else base.limit_turns,
        condition=condition,
    )
    return logbook.record_fitting(package, log, record)


CONDITIONS: Final = get_args(Condition)


def _degrees(said: Mapping[str, Any], key: str) -> float | None:
    """An angle written as a clock ("4 o'clock", "4:30") or in degrees."""
    text = str(said.get(key, "")).strip().lower().removesuffix("o'clock").removesuffix("o’clock").strip()
    if not text:
        return None
    try:
        if text.endswith("deg"):
            return float(text.removesuffix("deg")) % 360.0
        hour, _, minute = text.partition(":")
        return ((int(hour) % 12) * 30.0 + (int(minute) if minute else 0) * 0.5) % 360.0
    except ValueError:
        raise wrong(key, 'a clock position like "4" or "4:30", or "135 deg"', f'"{text}"', "write it so") from None


def _turns(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.turned(package, log, str(said["fitting"]), _turn_number(said, "turns"))


def _turn_number(said: Mapping[str, Any], key: str) -> float:
    text = str(said.get(key, "")).strip().replace(",", ".")
    try:
        top, _, bottom = text.partition("/")
        return float(top) / (float(bottom) if bottom else 1.0)
    except (ValueError, ZeroDivisionError):
        raise wrong(key, 'turns past hand-tight, like "0.75" or "3/4"', f'"{text}"', "write it so") from None


def _torque_wanted(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    """The manual's value and the wrench in hand, each as typed with its unit, into a line of the torque sheet."""
    name, manual = str(said["line"]), str(said.get("manual", "")).strip()
    known = next((line for line in package.torques if line.id == name), None)
    if known is None or not manual:
        raise wrong(
            "torque", "a line of the torque sheet, and the manual and page it was read in", manual, "write both"
        )
    wanted = Value(
        number=to_si(str(said.get("wanted", "")), "torque", "wanted"),
        dimension="torque",
        standing="own manual",
        source=Source(manual),
    )
    wrench = None
    if str(said.get("lever", "")).strip():
        wrench = Wrench(
            lever_m=to_si(str(said["lever"]), "length", "lever"),
            offset_m=to_si(str(said.get("offset") or "0 in"), "length", "offset"),
            angle_deg=to_si(str(said.get("angle") or "0 deg"), "angle", "angle"),
            identity=str(said.get("wrench", "")),
            calibrated_on=str(said.get("calibrated", "")),
        )
    drag = to_si(str(said["drag"]), "torque", "drag") if str(said.get("drag", "")).strip() else None
    return logbook.fill_in_torque(package, log, torque_line(name, known.what, wanted, wrench, drag))


def _torque(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.torque(package, log, str(said["line"]), str(said.get("applied", "")))


def _received(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.receive(package, log, document_of(said))


def document_of(said: Mapping[str, Any]) -> PartDocument:
    """What a part's document says, as entered."""
    return PartDocument(
        part=str(said["part"]),
        serial_on_part=str(said.get("serial_on_part", "")),
        serial_on_document=str(said.get("serial_on_document", "")),
        status=str(said.get("status", "")),
        dated=_day(said.get("dated")),
        signed=bool(said.get("signed")),
        reference=str(said.get("reference", "")),
        test_figures=str(said.get("test_figures", "")),
        report=str(said.get("report", "")),
        report_read_by=str(said.get("report_read_by", "")),
    )


def _found(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    words = str(said.get("words", "")).strip()
    if not words:
        raise wrong("finding", "what was found, in words", "nothing", "write it, or leave the field alone")
    return logbook.note(package, log, words)


def _passed(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    entry = Override(what=str(said.get("gate", "")), name=str(said.get("name", "")), reason=str(said.get("reason", "")))
    return logbook.override(package, log, entry)


def _photographed(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    photo = Photo(
        id=str(said["photo"]),
        original=str(said["original"]),
        shown=str(said["shown"]),
        small=str(said["small"]),
        width=int(said["width"]),
        height=int(said["height"]),
        media_type=str(said.get("media_type", "")),
        about=str(said.get("about", "")),
        moment=said.get("moment", ""),
        note=str(said.get("note", "")),
        taken_by=str(said.get("by", "")),
        taken_at=str(said.get("at", "")),
    )
    return logbook.photograph(package, log, photo)


def _marked(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    mark = Mark(
        photo=str(said["photo"]),
        role=said.get("role", ""),
        about=str(said.get("about", "")),
        x=_share(said, "x"),
        y=_share(said, "y"),
    )
    return logbook.mark_photo(package, log, mark)


def _share(said: Mapping[str, Any], key: str) -> float:
    try:
        return float(str(said.get(key, "")))
    except ValueError:
        raise wrong("mark", "a point on the picture", f'"{said.get(key, "")}"', "touch the picture itself") from None


def _looked(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    answers = {str(key): str(value).strip() for key, value in dict(said.get("answers", {})).items()}
    return logbook.answer_look(package, log, str(said["look"]), answers)


def _line_seen(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    seen = LineSeen(
        line=str(said["line"]),
        condition=said.get("condition", "not looked at"),
        routing=str(said.get("routing", "")),
        clamps=str(said.get("clamps", "")),
        length=str(said.get("length", "")),
        bore=str(said.get("bore", "")),
        marking=str(said.get("marking", "")),
        replaced=bool(said.get("replaced")),
    )
    return logbook.see_line(package, log, seen)


def _priced(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.give_price(package, log, str(said["item"]), str(said.get("price", "")))


def _day(text: Any) -> datetime.date | None:
    if not text:
        return None
    try:
        return datetime.date.fromisoformat(str(text))
    except ValueError:
        raise InputError(
            Problem(where="date", expected="a date, year-month-day", found=f'"{text}"', next_step="write it so")
        ) from None


STEPS: Final[Mapping[str, Step]] = MappingProxyType(
    {
        "done": _done,
        "not done": _not_done,
        "left out": _left_out,
        "count": _count,
        "closed": _closed,
        "connected": _connected,
        "tags hung": _tags,
        "angle": _angle,
        "turns": _turns,
        "torque": _torque,
        "torque wanted": _torque_wanted,
        "received": _received,
        "found": _found,
        "passed": _passed,
        "photographed": _photographed,
        "marked": _marked,
        "looked": _looked,
        "priced": _priced,
        "line seen": _line_seen,
    }
)
