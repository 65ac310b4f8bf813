"""A study from its file to its folder: worked out here or on a cluster, kept as it goes, and told in trade words."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from vanewise import pipeline
from vanewise.errors import InputError, NoAnswer, Problem, in_file
from vanewise.jobs.answers import Answer, to_json
from vanewise.jobs.compute import engine as best_engine
from vanewise.jobs.compute import not_computed
from vanewise.jobs.files import read_text, refuse_blocked, write_all
from vanewise.jobs.study_shapes import Quantile, Studied, StudyGroup, StudyOutcome
from vanewise.jobs.study_words import told
from vanewise.quantities import KELVIN_AT_0C, M_PER_FT

if TYPE_CHECKING:
    from vanewise.network.types import Engine
    from vanewise.study import Part, Prepared, Study, Tally
    from vanewise.study.running import OutcomeSpec
    from vanewise.study.tally import Outcome

QUANTILES: Final = (0.01, 0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95, 0.99)
COARSER: Final = 20
"""Bins of a written histogram are so many times as wide as those that quantiles are taken from: 0.1 inHg, 0.1 cfm."""
PARTS: Final = "parts"
SUMMARY, HISTOGRAM, ANSWER, ROWS = "summary.csv", "histogram.csv", "study.json", "rows.npz"

Shown = Callable[[int, int, int], None]
"""Told after every chunk: scenarios done, scenarios in all, scenarios not solved."""


def study(
    path: Path,
    out: Path,
    *,
    scheduler: str = "",
    fresh: bool = False,
    engine: Engine | None = None,
    progress: Shown | None = None,
) -> Answer:
    """Work a study out and write it into ``out``; with ``scheduler`` on a Dask cluster, to the same bytes.

    An interrupted study goes on where it stopped when the same is asked again. Raises InputError for a mistake in the
    files, NoAnswer when it was stopped.
    """
    from vanewise.study import prepare

    asked, engine = _read(path), engine or best_engine()
    refuse_blocked(out)
    ready = prepare(asked)
    tally = _worked_out(ready, out, scheduler, fresh, engine, progress)
    data = _studied(ready, tally)
    answer = Answer(data=data, words=told(data))
    body = {
        SUMMARY: "".join(_summary(data)).encode(),
        HISTOGRAM: "".join(_histogram(ready, tally)).encode(),
        ANSWER: f"{to_json(answer)}\n".encode(),
    }
    write_all(out, body)
    _parts_of(ready, out, engine).clear()
    return answer


def _read(path: Path) -> Study:
    from vanewise.study.reading import aircraft_named, read_study

    text = read_text(path)
    aircraft = path.parent / aircraft_named(text, str(path))
    try:
        description = pipeline.describe(read_text(aircraft), str(aircraft))
    except InputError as error:
        here = str(aircraft)
        named = [one if one.where.startswith(here) else in_file(here, one) for one in error.problems]
        raise type(error)(named) from None
    return read_study(text, str(path), description)


def _parts_of(ready: Prepared, out: Path, engine: Engine):  # type: ignore[no-untyped-def]
    from vanewise.jobs.study_parts import Parts

    return Parts(out / PARTS, ready, engine)


def _worked_out(
    ready: Prepared, out: Path, scheduler: str, fresh: bool, engine: Engine, progress: Shown | None
) -> Tally:
    """Every part made and kept, then added up in order; rows gathered into their archive."""
    from vanewise.jobs.study_parts import write_archive
    from vanewise.study import added_up

    asked = ready.study
    parts = _parts_of(ready, out, engine)
    parts.open(fresh=fresh)
    missing = [number for number in range(asked.chunks) if not parts.has(number)]
    done, unsolved = asked.chunks - len(missing), 0
    try:
        for part in _made(ready, missing, scheduler, engine):
            parts.keep(part)
            done += 1
            unsolved += int(part.tally.unsolved.sum())
            if progress is not None:
                progress(min(done * asked.chunk_size, asked.count), asked.count, unsolved)
    except KeyboardInterrupt:
        raise NoAnswer(
            Problem(
                where=f"study {asked.title}",
                expected=f"all of its {asked.chunks:,} chunks",
                found=f"stopped by hand after {done:,} of them, which are kept in {out / PARTS}",
                next_step="run the same command again: it goes on from there; with --fresh it begins anew",
            )
        ) from None
    tally = added_up(asked, (parts.read(number) for number in range(asked.chunks)))
    if asked.rows:
        write_archive(out / ROWS, parts, asked.count)
    return tally


def _made(ready: Prepared, missing: Sequence[int], scheduler: str, engine: Engine) -> Iterator[Part]:
    from vanewise.study import work_out

    if scheduler and missing:
        from vanewise.jobs.study_cluster import parts_from

        yield from parts_from(scheduler, ready.study, missing, engine)
    else:
        yield from (work_out(ready, number, engine=engine) for number in missing)


def _studied(ready: Prepared, tally: Tally) -> Studied:
    asked = ready.study
    files = (SUMMARY, HISTOGRAM, ANSWER, *((ROWS,) if asked.rows else ()))
    set_anew = asked.set_anew and (asked.unknowns or any(_is_field(asked, key) for key in _own_keys(asked)))
    return Studied(
        title=asked.title,
        aircraft=asked.description.name,
        seed=asked.seed,
        draws=asked.draws,
        scenarios=asked.count,
        unsolved=int(tally.unsolved.sum()),
        varied=(*(item.key for item in asked.varied), *(item.path for item in ready.unknown)),
        regulator="set anew on every system" if set_anew else "its spring as on the aircraft described",
        groups=tuple(_group(ready, tally, group) for group in range(asked.groups)),
        files=files,
        remarks=not_computed(asked.description),
    )


def _own_keys(asked: Study) -> Iterator[str]:
    from vanewise.study.types import OPERATING

    keys = [*(item.key for item in asked.varied), *(axis.key for axis in asked.axes)]
    yield from (key for key in keys if key not in OPERATING)


def _is_field(asked: Study, key: str) -> bool:
    from vanewise.study.running import is_field

    return is_field(asked, key)


def _group(ready: Prepared, tally: Tally, group: int) -> StudyGroup:
    asked, rest = ready.study, group
    at: dict[str, float] = {}
    units: dict[str, str] = {}
    for axis in reversed([axis for axis in asked.axes if axis.key in asked.by]):
        rest, digit = divmod(rest, len(axis.values))
        at[axis.key], units[axis.key] = _in_words_unit(asked, axis.key, axis.values[digit])
    return StudyGroup(
        at=dict(reversed(at.items())),
        at_unit=dict(reversed(units.items())),
        scenarios=int(tally.scenarios[group]),
        unsolved=int(tally.unsolved[group]),
        outcomes=tuple(_outcome(spec, tally.outcomes[spec.name], group, tally) for spec in ready.outcomes),
    )


def _in_words_unit(asked: Study, key: str, number: float) -> tuple[float, str]:
    """A varied number in the unit people read it in."""
    from vanewise.aircraft.kinds import KINDS, field_of
    from vanewise.aircraft.versions import kind_at
    from vanewise.quantities import from_si

    if key == "rpm":
        return number, "rpm"
    if key == "altitude":
        return number / M_PER_FT, "ft"
    if key in ("temperature", "warmer"):
        return (number - KELVIN_AT_0C, "C") if key == "temperature" else (number, "K")
    owner, _, name = key.rpartition(".")
    kind = kind_at(asked.description, owner) or ""
    field = field_of(kind, name)
    if field is not None:
        return from_si(number, field.unit, field.dimension), field.unit
    state = next(spec for spec in KINDS[kind].states if spec.name == name)
    return number, state.unit


def _outcome(spec: OutcomeSpec, outcome: Outcome, group: int, tally: Tally) -> StudyOutcome:
    from vanewise.study.types import UNIT_SI, WIDTHS

    factor, (low, high) = UNIT_SI[spec.unit], spec.limits
    solved = int(tally.scenarios[group] - tally.unsolved[group])
    share = spec.unit == "share"
    return StudyOutcome(
        name=spec.name,
        unit=spec.unit,
        mean=float(outcome.total[group]) / solved / factor if solved else None,
        least=float(outcome.least[group]) / factor if solved else None,
        most=float(outcome.most[group]) / factor if solved else None,
        quantiles=tuple(
            Quantile(share=q, value=outcome.quantile(group, q, WIDTHS[spec.unit]) / factor) for q in QUANTILES
        )
        if solved and not share
        else (),
        low=None if low is None else low / factor,
        high=None if high is None else high / factor,
        below=None if low is None else int(outcome.below[group]),
        above=None if high is None else int(outcome.above[group]),
    )


def _lines(rows: Iterator[Sequence[object]]) -> Iterator[str]:
    """Rows as CSV text."""
    for row in rows:
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(row)
        yield line.getvalue()


def _summary(data: Studied) -> Iterator[str]:
    """One line for each group and outcome."""

    def rows() -> Iterator[Sequence[object]]:
        keys = [f"{key} [{unit}]" for key, unit in data.groups[0].at_unit.items()]
        shares = [f"{share:.0%} below" for share in QUANTILES]
        yield (
            *keys,
            "outcome",
            "unit",
            "scenarios",
            "not solved",
            "mean",
            "least",
            "most",
            *shares,
            "low",
            "below",
            "high",
            "above",
        )
        for group in data.groups:
            for one in group.outcomes:
                quantiles = [_short(item.value) for item in one.quantiles] or [""] * len(QUANTILES)
                first = (*map(_short, group.at.values()), one.name, one.unit, group.scenarios, group.unsolved)
                middle = (_short(one.mean), _short(one.least), _short(one.most), *quantiles)
                yield (*first, *middle, _short(one.low), one.below, _short(one.high), one.above)

    return _lines(rows())


def _histogram(ready: Prepared, tally: Tally) -> Iterator[str]:
    """One line for each bin that was hit: from, to, how many scenarios."""
    import numpy as np

    from vanewise.study.types import UNIT_SI, WIDTHS

    def rows() -> Iterator[Sequence[object]]:
        groups = [_group(ready, tally, number) for number in range(ready.study.groups)]
        keys = [f"{key} [{unit}]" for key, unit in groups[0].at_unit.items()]
        yield (*keys, "outcome", "unit", "from", "to", "scenarios")
        for number, group in enumerate(groups):
            for spec in ready.outcomes:
                if spec.unit == "share":
                    continue
                bins, hits = tally.outcomes[spec.name].bins(number)
                width = COARSER * WIDTHS[spec.unit] / UNIT_SI[spec.unit]
                wide, back = np.unique(bins // COARSER, return_inverse=True)
                for at, count in zip(wide.tolist(), np.bincount(back, hits).astype(int).tolist(), strict=True):
                    place = (_short(at * width), _short((at + 1) * width), count)
                    yield (*map(_short, group.at.values()), spec.name, spec.unit, *place)

    return _lines(rows())


def _short(number: float | None) -> str:
    """Six significant digits: no more is meant, and no less is lost by reading it back."""
    return "" if number is None else f"{number + 0.0:.6g}"
