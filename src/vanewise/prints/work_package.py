"""The work package, the hose map and the count sheet as pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from vanewise.contamination.types import Scope, Suspect
from vanewise.prints.press import paper, qr_svg, typeset
from vanewise.wording import capital, sentence
from vanewise.work.cautions import DEFERENCE
from vanewise.work.compare import compare
from vanewise.work.torque import FORMULA
from vanewise.work.types import Gate, HoseTag, ShopNote, Task, WorkPackage

_SHORT = 12
_OPEN = ("cabin", "engine bay")


def work_package_pdf(
    package: WorkPackage,
    *,
    page: str = "a4",
    schematic_svg: str = "",
    previous: WorkPackage | None = None,
    who_may: Sequence[str] = (),
) -> bytes:
    """The whole package: plan and shopping list, a card for each task, the sheets to fill in.

    ``schematic_svg`` is a drawing of the air system to put on the first pages; ``previous`` the package this one
    follows, to print what changed; ``who_may`` what the rules of the country say of who may do what. Same package, same
    bytes.
    """
    data = {
        **_heading(package, page),
        "schematic": schematic_svg,
        "place": package.place.replace("_", " "),
        "made_on": str(package.made_on),
        "parent": package.parent[:_SHORT],
        "qr": qr_svg(f"work package {package.id}\n{package.aircraft}\n{package.cause_name}"),
        "deference": DEFERENCE,
        "changes": [] if previous is None else _changes(previous, package),
        "glance": [*_glance(package), *((("Rules", " ".join(who_may)),) if who_may else ())],
        "remarks": [remark for remark in package.remarks if remark != DEFERENCE],
        "gates": _gates(package),
        "override_by": package.gates[0].override_by if package.gates else "",
        "parts": package.parts,
        "consumables": package.consumables,
        "tools": package.tools,
        "tasks": _tasks(package),
        **_sheets(package),
    }
    return typeset("work_package", data, package.made_on)


def hose_map_pdf(
    package: WorkPackage,
    *,
    page: str = "a4",
    pictures: Sequence[Mapping[str, Any]] = (),
    seen: Mapping[str, str] = {},
) -> bytes:
    """Hose map, fittings, torque and counts alone: the sheets that go to the aircraft. Same package, same bytes.

    ``pictures`` are photographs as :func:`vanewise.prints.packets.shown` gives them, ``seen`` what was written of each
    line as found.
    """
    data = {**sheets_of(package, page), "pictures": list(pictures)}
    lines = {tag.number: tag.line for tag in package.hose_tags}
    data["hoses"] = [{**hose, "seen": seen.get(lines[hose["number"]], "")} for hose in data["hoses"]]
    return typeset("hose_map", data, package.made_on)


def sheets_of(package: WorkPackage, page: str) -> dict[str, Any]:
    """What every sheet of a package is filled with."""
    return {**_heading(package, page), **_sheets(package)}


def _heading(package: WorkPackage, page: str) -> dict[str, Any]:
    return {
        "paper": paper(page),
        "aircraft": package.aircraft,
        "cause": capital(package.cause_name),
        "number": package.id[:_SHORT],
        "foot": (
            f"Work package {package.id[:_SHORT]} of {package.made_on}, description "
            f"{package.description_digest[:_SHORT]}. "
            "A plan, not an approval."
        ),
    }


def _glance(package: WorkPackage) -> list[tuple[str, str]]:
    rows = [("Work", f"{len(package.tasks)} tasks, about {package.minutes / 60.0:.0f} h at the aircraft")]
    if package.waiting_days:
        rows.append(("Waiting", f"about {package.waiting_days:.0f} days for parts that go away (ask the shop)"))
    conditional = [task for task in package.tasks if task.only_if]
    if conditional:
        rows.append(("Only if", f"{len(conditional)} of the tasks, each with its condition"))
    if package.suspects:
        rows.append(("On the list", f"{len(package.suspects)} parts that debris can have reached"))
    rows.append(("Who", ", ".join(dict.fromkeys(task.who for task in package.tasks))))
    return rows


def _changes(previous: WorkPackage, package: WorkPackage) -> list[dict[str, Any]]:
    """What a new finding changed, each kind of change with its list; empty kinds are left out."""
    difference = compare(previous, package)
    labels = {**_suspect_labels(previous), **_suspect_labels(package)}
    rows = (
        ("off the list", tuple(labels.get(suspect, suspect) for suspect in difference.dropped_suspects)),
        ("new on the list", tuple(labels.get(suspect, suspect) for suspect in difference.added_suspects)),
        ("tasks no longer needed", difference.dropped_tasks),
        ("new tasks", difference.added_tasks),
        ("tasks changed", difference.changed_tasks),
        ("parts no longer needed", difference.dropped_parts),
        ("new parts", difference.added_parts),
    )
    return [{"name": name, "list": items} for name, items in rows if items]


def _suspect_labels(package: WorkPackage) -> dict[str, str]:
    return {} if package.scope is None else {suspect.id: suspect.label for suspect in package.scope.suspects}


def _gates(package: WorkPackage) -> list[dict[str, str]]:
    titles = {task.id: (number, task.title) for number, task in enumerate(package.tasks, start=1)}
    return [{"title": _gate_title(gate), "holds": _held(gate, titles)} for gate in package.gates]


def _gate_title(gate: Gate) -> str:
    return capital(gate.title)


def _held(gate: Gate, titles: dict[str, tuple[int, str]]) -> str:
    held = sorted(titles[task] for task in gate.before)
    return "; ".join(f"{number} {title}" for number, title in held[:4]) + (
        f"; and {len(held) - 4} more" if len(held) > 4 else ""
    )


def _tasks(package: WorkPackage) -> list[dict[str, Any]]:
    numbers = {task.id: number for number, task in enumerate(package.tasks, start=1)}
    return [_task(package, task, numbers) for task in package.tasks]


def _task(package: WorkPackage, task: Task, numbers: dict[str, int]) -> dict[str, Any]:
    labels = _suspect_labels(package)
    needs = (("parts", task.parts), ("consumables", task.consumables), ("tools", task.tools))
    return {
        "number": numbers[task.id],
        "title": task.title,
        "condition": task.only_if,
        "why": task.why,
        "who": task.who,
        "minutes": f"about {task.minutes:.0f} min"
        + (f", then {task.waiting_days:.0f} days" if task.waiting_days else ""),
        "after": _ranges(sorted(numbers[earlier] for earlier in task.after)),
        "cautions": task.cautions,
        "steps": task.steps,
        "needs": [{"name": name, "list": ", ".join(items)} for name, items in needs if items],
        "closes": ", ".join(labels.get(suspect, suspect) for suspect in task.closes),
        "hold": task.hold_point,
    }


def _ranges(numbers: Sequence[int]) -> str:
    """``1, 3 to 6``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _sheets(package: WorkPackage) -> dict[str, Any]:
    scope = package.scope
    return {
        "suspects": [] if scope is None else [_suspect(suspect) for suspect in scope.suspects],
        "reach": "" if scope is None else _reach(scope),
        "looks": [] if scope is None else [sentence(look.what) for look in scope.looks],
        "questions": [] if scope is None else scope.questions,
        "hoses": [_hose(tag) for tag in package.hose_tags],
        "fittings": [
            {
                "port": _port(fitting.port),
                "zero": fitting.zero,
                "limit": ""
                if fitting.limit_turns is None
                else f"at most {fitting.limit_turns.number:g} ({fitting.limit_turns.source})",
            }
            for fitting in package.fittings
        ],
        "torques": [
            {"what": line.what, "wanted": line.wanted, "adapter": line.adapter, "setting": line.setting}
            for line in package.torques
        ],
        "torque_formula": f"{FORMULA}; L from square drive to middle of grip, E from square drive to middle of nut, "
        "a the angle between them.",
        "counts": [
            {"what": count.what, "expected": "as found" if count.expected is None else str(count.expected)}
            for count in package.counts
        ],
        "notes": [_note(note) for note in package.shop_notes],
        "follow_ups": [{"after": f"{look.after_hours:g} h", "what": look.what} for look in package.follow_ups],
    }


def _suspect(suspect: Suspect) -> dict[str, Any]:
    upper = ", by the upper bound only" if suspect.only_upper_bound else ""
    return {
        "label": capital(suspect.label),
        "distance": f"{suspect.distance_m:.2f} m of line away{upper}",
        "reason": sentence(suspect.reason),
        "ways": suspect.proof,
    }


def _reach(scope: Scope) -> str:
    figures = [
        f"Back-fill at the stop: at most {figure.length_m:.2f} m of the bore at the pump "
        f"({figure.length_low_m:.2f} to {figure.length_high_m:.2f} m)."
        for figure in scope.reaches
    ]
    return " ".join(figures)


def _hose(tag: HoseTag) -> dict[str, Any]:
    one, other = tag.ends
    if one in _OPEN:
        one, other = other, one
    return {
        "number": tag.number,
        "one": _port(one),
        "other": _port(other),
        "open": other in _OPEN,
        "bore": tag.bore,
        "length": tag.length,
        "material": tag.note,
        "flow": tag.flow,
    }


def _port(port: str) -> str:
    if port in _OPEN:
        return f"open to the {port}"
    part, name = port.rsplit(".", 1)
    return f"{part}, {name}".replace("_", " ")


def _note(note: ShopNote) -> dict[str, Any]:
    return {
        "label": note.label,
        "symptoms": note.symptoms,
        "contamination": note.contamination,
        "ask_for": note.ask_for,
        "packing": note.packing,
    }
