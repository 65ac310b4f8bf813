"""The gates of a plan: which things must be there before which task may be done."""

from __future__ import annotations

from vanewise.work.gates import CERTIFICATED
from vanewise.work.job import Job
from vanewise.work.looks import holds_run
from vanewise.work.types import Count, FittingRecord, Gate, StepLook, Task, TorqueLine


def gates_for(
    job: Job,
    tasks: tuple[Task, ...],
    counts: tuple[Count, ...],
    fittings: tuple[FittingRecord, ...],
    torques: tuple[TorqueLine, ...],
    looks: tuple[StepLook, ...],
) -> tuple[Gate, ...]:
    """Every gate of a package: what it asks for, and the tasks it holds."""
    ids = [task.id for task in tasks]
    of_documents = {look.id: look.task for look in looks if look.task.endswith("-documents")}
    earlier = {*of_documents, *(look.id for look in looks if look.task == "tags")}
    gates: list[Gate] = []
    if "tags" in ids:
        gates.append(
            Gate(
                id="mapped",
                title="nothing is loosened before everything is mapped",
                needs=(
                    "tags:all",
                    *(f"angle:{fitting.id}" for fitting in fittings),
                    *(f"look:{look.id}" for look in looks if look.task == "tags"),
                ),
                before=tuple(task.id for task in tasks if "tags" in task.after and task.id != "fitting-angles"),
                override_by=CERTIFICATED,
            )
        )
    going_on = tuple(task_id for task_id in ids if task_id.endswith("-on") or task_id == "regulator-exchange")
    for task in tasks:
        part = task.id.removesuffix("-documents")
        if part != task.id:
            name = job.pump.id if part == "pump" else part
            gates.append(
                Gate(
                    id=f"documents of {job.label(name)}",
                    title=f"part and papers of {_received(job, part, name)} agree",
                    needs=(
                        f"documents:{name}",
                        *(f"look:{look}" for look, at in of_documents.items() if at == task.id),
                    ),
                    before=(f"{part}-on",),
                    override_by=CERTIFICATED,
                )
            )
    if job.suspects:
        gates.append(
            Gate(
                id="suspects",
                title=f"all {len(job.suspects)} suspects closed before anything new goes on",
                needs=tuple(f"suspect:{suspect.id}" for suspect in job.suspects),
                before=going_on or tuple(t for t in ("reconnect", "ground-run") if t in ids)[:1],
                override_by=CERTIFICATED,
            )
        )
    if "ground-run" in ids and "tags" in ids:
        gates.append(
            Gate(
                id="ready to run",
                title="nothing turns before everything is connected as mapped and counted",
                needs=(
                    *(f"connection:{tag.line}" for tag in job.tags),
                    *(f"turns:{fitting.id}" for fitting in fittings),
                    *(f"torque:{line.id}" for line in torques),
                    *(f"count:{count.id}" for count in counts),
                    *(f"look:{look.id}" for look in looks if holds_run(look) and look.id not in earlier),
                ),
                before=tuple(t for t in ("leak-proof", "gauge-compare", "ground-run") if t in ids),
                override_by=CERTIFICATED,
            )
        )
    late = tuple(look for look in looks if not holds_run(look) and look.task != "record")
    if late and "record" in ids:
        gates.append(
            Gate(
                id="written down",
                title="nothing is written off before what was seen stands on the sheet",
                needs=tuple(f"look:{look.id}" for look in late),
                before=("record",),
                override_by=CERTIFICATED,
            )
        )
    if "regulator-set" in ids:
        proofs = tuple(t for t in ("filters", "leak-proof", "gauge-compare") if t in ids)
        gates.append(
            Gate(
                id="regulator lock",
                title="the screw is not turned before filter, leaks and gauge are proved",
                needs=tuple(f"task:{proof}" for proof in proofs),
                before=("regulator-set",),
                override_by=CERTIFICATED,
            )
        )
    return tuple(gates)


def _received(job: Job, part: str, name: str) -> str:
    """What came in: another pump stands where the old one was."""
    return "the other pump" if part == "pump" else job.the(name)
