"""Two packages side by side: what a new finding changed."""

from __future__ import annotations

import msgspec

from vanewise.work.types import Task, WorkPackage


class PackageDifference(msgspec.Struct, frozen=True, kw_only=True):
    """What the newer package has, has no longer, and has otherwise."""

    added_tasks: tuple[str, ...]
    dropped_tasks: tuple[str, ...]
    changed_tasks: tuple[str, ...]
    """Titles, each with what changed in it."""
    added_suspects: tuple[str, ...]
    dropped_suspects: tuple[str, ...]
    added_parts: tuple[str, ...]
    dropped_parts: tuple[str, ...]
    minutes: float
    """Newer minus older."""

    @property
    def is_empty(self) -> bool:
        lists = (self.added_tasks, self.dropped_tasks, self.changed_tasks, self.added_suspects)
        return not any((*lists, self.dropped_suspects, self.added_parts, self.dropped_parts)) and self.minutes == 0.0


def compare(older: WorkPackage, newer: WorkPackage) -> PackageDifference:
    """What changed from ``older`` to ``newer``."""
    before = {task.id: task for task in older.tasks}
    after = {task.id: task for task in newer.tasks}
    return PackageDifference(
        added_tasks=tuple(task.title for task in newer.tasks if task.id not in before),
        dropped_tasks=tuple(task.title for task in older.tasks if task.id not in after),
        changed_tasks=tuple(
            f"{task.title}: {', '.join(_changed(before[task.id], task))}"
            for task in newer.tasks
            if task.id in before and before[task.id] != task
        ),
        added_suspects=tuple(s for s in newer.suspects if s not in older.suspects),
        dropped_suspects=tuple(s for s in older.suspects if s not in newer.suspects),
        added_parts=tuple(part for part in newer.parts if part not in older.parts),
        dropped_parts=tuple(part for part in older.parts if part not in newer.parts),
        minutes=newer.minutes - older.minutes,
    )


def _changed(old: Task, new: Task) -> tuple[str, ...]:
    return tuple(
        field.replace("_", " ") for field in Task.__struct_fields__ if getattr(old, field) != getattr(new, field)
    )
