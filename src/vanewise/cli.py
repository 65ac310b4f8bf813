"""The command line: thin commands over the jobs, one place that turns errors into words and exit codes.

Exit 0: done. 2: what was handed in is wrong, with where, expected, found and next step. 3: the input is sound but no
answer could be had. Every command that answers something takes ``--json``; the shapes are in ``docs/reference``.
Nothing heavy is imported until a command runs, so that ``vanewise --help`` answers at once.
"""

from __future__ import annotations

import os
import shlex
import sys
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NoReturn

import click

from vanewise import __version__, cli_curves, cli_kept

# Before numpy is imported anywhere: the matrices here are small, its threads cost more time than they save, and no
# answer may depend on how many of them there are.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


class _Commands(click.Group):
    """Keeps the order commands are written in, and turns what went wrong into words and an exit code."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_AS_JSON] = "--json" in args
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            self._stop(ctx, error)

    def invoke(self, ctx: click.Context) -> Any:
        from vanewise.errors import VanewiseError

        try:
            return super().invoke(ctx)
        except (VanewiseError, click.UsageError) as error:
            self._stop(ctx, error)

    def _stop(self, ctx: click.Context, error: Exception) -> NoReturn:
        if isinstance(error, click.exceptions.NoArgsIsHelpError):
            raise error
        told = _misuse(error) if isinstance(error, click.UsageError) else error
        _tell(told, as_json=ctx.meta[_AS_JSON])
        ctx.exit(exit_code(told))


_AS_JSON = "vanewise.as_json"


def _misuse(error: click.UsageError) -> Exception:
    """A command line that cannot be understood, in the four parts of every error."""
    from vanewise.errors import wrong

    command = error.ctx.command_path if error.ctx else "vanewise"
    near = getattr(error, "possibilities", None)
    see = f"did you mean {' or '.join(near)}? See also: {command} --help" if near else f"see: {command} --help"
    found = error.message.rstrip(".")
    parameter = getattr(error, "param", None)
    if parameter is None:
        return wrong(command, "a command line as its help shows it", found, see)
    where = f"{command}, {_name_of(parameter)}"
    if isinstance(error, click.MissingParameter):
        return wrong(where, _wanted(parameter), "nothing", f"add it; {see}")
    return wrong(where, _wanted(parameter), found, see)


def _wanted(parameter: click.Parameter) -> str:
    """What a parameter takes, in words."""
    kind, unit = parameter.type, parameter.metavar
    if isinstance(kind, click.Choice):
        return f"one of {', '.join(str(choice) for choice in kind.choices)}"
    words = {"float": "a plain number", "integer": "a whole number"}.get(kind.name, "")
    if not words:
        return unit or f"a {kind.name}"
    return f"{words}, in {unit}" if unit else words


def _name_of(parameter: click.Parameter) -> str:
    return parameter.opts[0] if isinstance(parameter, click.Option) else parameter.human_readable_name


def exit_code(error: Exception) -> int:
    """2 for wrong input or a held gate, 3 where no answer could be had."""
    from vanewise.errors import NoAnswer

    return 3 if isinstance(error, NoAnswer) else 2


def _tell(error: Any, as_json: bool) -> None:
    if as_json:
        from vanewise.jobs.answers import error_json

        click.echo(error_json(error))
    for number, problem in enumerate(error.problems):
        click.echo(("\n" if number else "") + _printable(str(problem)), err=True)


def _show(answer: Any, as_json: bool) -> None:
    """Print an answer: its text for people, or its JSON."""
    from vanewise.jobs.answers import to_json

    click.echo(to_json(answer) if as_json else _printable(answer.text()), nl=True)


def _printable(text: str) -> str:
    """Text without what would move a terminal's cursor or change its colours: names come from files."""
    return "".join("?" if unicodedata.category(letter)[0] == "C" and letter != "\n" else letter for letter in text)


@click.group(
    name="vanewise", cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="vanewise")
def main() -> None:
    """Find what is wrong with an aircraft's gyro air, plan the rebuild, prove it, write it down, watch it.

    Computes and drafts. It never declares an aircraft airworthy and never signs; the aircraft's own manuals, the
    local rules and licensed people come first.
    """


json_option = click.option("--json", "as_json", is_flag=True, help="Answer as JSON (shape in docs/reference).")
file_argument = click.argument("file", type=click.Path(path_type=Path))
altitude_option = click.option(
    "--altitude", type=float, metavar="FT", help="Pressure altitude in feet; the home field's when left out."
)
state_option = click.option(
    "--state", "states", multiple=True, metavar="PART.KEY=VALUE", help="How a part is now, e.g. pump.slip=3."
)
seed_option = click.option("--seed", type=int, default=0, show_default=True, help="Same seed, same answer.")


@main.command()
@json_option
def layouts(as_json: bool) -> None:
    """List the ready-made air system layouts."""
    from vanewise.jobs import compute

    _show(compute.layouts(), as_json)


@main.command()
@click.argument("layout")
@file_argument
@click.option("--force", is_flag=True, help="Write over an existing file.")
def new(layout: str, file: Path, force: bool) -> None:
    """Write a ready-made LAYOUT to FILE. Its examples are to be overwritten from the aircraft and its manual."""
    from vanewise.jobs import compute, files

    files.write_new(file, compute.new_description(layout), force=force)
    click.echo(f"Wrote {file}. Values marked assumed are examples: overwrite them from the aircraft and its manual.")


@main.command()
@file_argument
@click.option("--answer", "answers", multiple=True, metavar="QUESTION=ANSWER", help="Answer without being asked.")
@click.option("--name", default="My aircraft", show_default=True, help="What the aircraft is called.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
@json_option
def ask(file: Path, answers: tuple[str, ...], name: str, force: bool, as_json: bool) -> None:
    """Ask ten questions and write FILE. "Don't know" is always an answer; what is assumed is told."""
    from vanewise.jobs import compute, files

    files.refuse_taken(file, force=force)
    given = compute.split_answers(answers)
    if _on_terminal():
        try:
            _ask_for(given)
        except click.Abort:
            words = " ".join(f"--answer {shlex.quote(f'{key}={value}')}" for key, value in given.items())
            click.echo(f"\nNothing was written. To go on from here:\n  vanewise ask {shlex.quote(str(file))} {words}")
            raise
    answer = compute.start(given, name)
    files.write_new(file, answer.files["description.toml"].decode(), force=force)
    _show(answer, as_json)


def _on_terminal() -> bool:
    return sys.stdin.isatty()


def _ask_for(given: dict[str, object]) -> None:
    """Ask what is not given yet, and put it into ``given``; an answer that cannot be taken is asked for again."""
    from vanewise.jobs import compute

    for question in compute.questions():
        asked = [spec for spec in question.answers if spec.id not in given]
        if question.offered or not asked:
            continue
        click.echo(f"\n{question.number}. {question.text}\n   How to look: {question.how_to_look}")
        for spec in asked:
            if spec.asked_when and str(given.get(spec.asked_when[0], "")) not in spec.asked_when[1]:
                continue
            choices = f" [{', '.join(spec.choices)}]" if spec.choices else f" [{spec.unit}]" if spec.unit else ""
            label = f"   {spec.label}{choices}; else {spec.assumed}"
            given[spec.id] = click.prompt(label, default="don't know")
            while (trouble := compute.trouble_with(given)) is not None:
                click.echo(_printable(trouble))
                given[spec.id] = click.prompt(label, default="don't know")


@main.command()
@file_argument
@json_option
def validate(file: Path, as_json: bool) -> None:
    """Check a described aircraft before anything is computed."""
    from vanewise.jobs import compute, files

    _show(compute.validate(files.read_text(file), str(file)), as_json)


@main.command()
@file_argument
@click.option("--rpm", help="Engine speeds, e.g. 700,1000,1200.")
@altitude_option
@click.option("--temperature", type=float, metavar="C", help="Outside air, degrees Celsius; standard when left out.")
@state_option
@click.option("--band", is_flag=True, help="Also draw the assumed numbers by their spread: a band, not a line.")
@seed_option
@json_option
def sweep(
    file: Path,
    rpm: str | None,
    altitude: float | None,
    temperature: float | None,
    states: tuple[str, ...],
    band: bool,
    seed: int,
    as_json: bool,
) -> None:
    """Predict the gauge over engine speed. With pressure and flow at every part."""
    from vanewise.jobs import compute, files

    answer = compute.sweep(
        files.read_text(file),
        str(file),
        rpm=rpm,
        altitude_ft=altitude,
        temperature_c=temperature,
        states=states,
        band=band,
        seed=seed,
    )
    _show(answer, as_json)


@main.command()
@click.argument("definition", metavar="STUDY", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR", help="Where it is written.")
@click.option("--scheduler", default="", metavar="ADDRESS", help="Spread it over the Dask cluster of this scheduler.")
@click.option("--fresh", is_flag=True, help="Begin anew where it was stopped before.")
@json_option
def study(definition: Path, out: Path, scheduler: str, fresh: bool, as_json: bool) -> None:
    """Work out very many scenarios of one aircraft. A STUDY file says what varies, and how.

    Stopped half way, it goes on from there when the same command is run again.
    """
    from vanewise.jobs import studying

    with _progress() as told:
        answer = studying.study(definition, out, scheduler=scheduler, fresh=fresh, progress=told)
    _show(answer, as_json)


@contextmanager
def _progress() -> Iterator[Callable[[int, int, int], None] | None]:
    """How far a long computation is, on a terminal; elsewhere nothing."""
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=1, file=sys.stderr, label="scenarios", show_pos=True) as bar:

        def told(done: int, of: int, unsolved: int) -> None:
            bar.length = of
            bar.label = f"scenarios, {unsolved:,} not solved" if unsolved else "scenarios"
            bar.update(done - bar.pos)

        yield told


@main.command()
@file_argument
@click.argument("instrument")
@click.option("--rpm", help="Engine speeds, e.g. 700,1000,1200.")
@altitude_option
@json_option
def without(file: Path, instrument: str, rpm: str | None, altitude: float | None, as_json: bool) -> None:
    """What if one instrument came off the air? Figures, ports to cap, what hangs on it, what has to be approved."""
    from vanewise.jobs import changing, files

    answer = changing.without(files.read_text(file), str(file), instrument, rpm=rpm, altitude_ft=altitude)
    _show(answer, as_json)


@main.command()
@json_option
def modes(as_json: bool) -> None:
    """List the failure modes it knows."""
    from vanewise.jobs import compute

    _show(compute.modes(), as_json)


@main.command()
@click.argument("text")
@click.option("--choose", metavar="NUMBERS", help="The suggestions that are meant, e.g. 1,3: written as evidence.")
@json_option
def words(text: str, choose: str | None, as_json: bool) -> None:
    """Find the words of evidence for what was said in TEXT. You choose; what nothing fits stays a note."""
    from vanewise.jobs import own_words

    _show(own_words.found(text, choose), as_json)


@main.command()
@file_argument
@click.argument("evidence", type=click.Path(path_type=Path))
@click.option("--quick", is_flag=True, help="First answer only, without refinement.")
@click.option(
    "--opened",
    multiple=True,
    type=click.Choice(["cowl off", "panel down", "seat out", "engine warm", "pump off"]),
    help="Open already, so that no check is charged for it; may be given several times.",
)
@seed_option
@json_option
def diagnose(file: Path, evidence: Path, quick: bool, opened: tuple[str, ...], seed: int, as_json: bool) -> None:
    """Say what may be the source, how sure, and what to check next."""
    from vanewise.jobs import compute, files

    answer = compute.diagnose(
        files.read_text(file),
        str(file),
        files.read_text(evidence),
        str(evidence),
        refine=not quick,
        seed=seed,
        opened=opened,
    )
    _show(answer, as_json)


@main.command()
@file_argument
@click.option("--part", required=True, metavar="ID", help="The part that shed debris.")
@click.option(
    "--event",
    required=True,
    type=click.Choice(["running", "stop", "cross-feed", "turned backwards", "maintenance"]),
    help="How it was released.",
)
@click.option("--altitude", type=float, metavar="FT", help="Pressure altitude then; unknown when left out, so high up.")
@click.option("--suction", type=float, metavar="INHG", help="What the gauge read just before a stop.")
@click.option("--turns-back", type=float, metavar="TURNS", help="Propeller turns backwards, then or after a stop.")
@click.option(
    "--found",
    multiple=True,
    metavar="PART=STATE",
    help="A barrier as found, e.g. inline_filter=intact,right-way; or a line clean from a length on: hose=clean,0.3m.",
)
@click.option("--ran-on", type=float, metavar="MIN", help="Minutes the engine ran on after a stop.")
@click.option("--other-source", type=bool, metavar="yes|no", help="Whether another source was used meanwhile.")
@click.option("--fragments", type=bool, metavar="yes|no", help="Whether every piece was found.")
@click.option("--evidence", type=click.Path(path_type=Path), help="An evidence file: what it says of dirt counts too.")
@json_option
def trace(
    file: Path,
    part: str,
    event: str,
    altitude: float | None,
    suction: float | None,
    turns_back: float | None,
    found: tuple[str, ...],
    ran_on: float | None,
    other_source: bool | None,
    fragments: bool | None,
    evidence: Path | None,
    as_json: bool,
) -> None:
    """Say which parts debris can have reached. With the path, and what proves each clean."""
    from vanewise.jobs import compute, files

    answer = compute.trace(
        files.read_text(file),
        str(file),
        part=part,
        event=event,
        altitude_ft=altitude,
        suction_inhg=suction,
        turns_back=turns_back,
        found=found,
        ran_on_min=ran_on,
        other_source=other_source,
        fragments=fragments,
        evidence=None if evidence is None else (files.read_text(evidence), str(evidence)),
    )
    _show(answer, as_json)


@main.command()
@file_argument
@click.argument("evidence", type=click.Path(path_type=Path))
@click.option("--cause", required=True, metavar="MODE", help="The cause to plan for (see: vanewise modes).")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR")
@click.option("--page", type=click.Choice(["a4", "letter"]), default="letter", show_default=True)
@seed_option
@json_option
def plan(file: Path, evidence: Path, cause: str, out: Path, page: str, seed: int, as_json: bool) -> None:
    """Write the work package for a cause. Ordered tasks, counts, tags and gates, as PDF and JSON."""
    from vanewise.jobs import compute, files

    files.refuse_blocked(out)
    answer = compute.plan(
        files.read_text(file),
        str(file),
        files.read_text(evidence),
        str(evidence),
        cause=cause,
        today=files.today(),
        seed=seed,
        page=page,
    )
    files.write_all(out, answer.files)
    _show(answer, as_json)


@main.command()
@file_argument
@click.argument("evidence", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR")
@click.option("--page", type=click.Choice(["a4", "letter"]), default="letter", show_default=True)
@seed_option
@json_option
def meanwhile(file: Path, evidence: Path, out: Path, page: str, seed: int, as_json: bool) -> None:
    """Until it is repaired: what is lost, what to ask before it flies, a placard draft; drafts only."""
    from vanewise.jobs import files
    from vanewise.jobs import meanwhile as job

    files.refuse_blocked(out)
    answer = job.from_files(
        files.read_text(file),
        str(file),
        files.read_text(evidence),
        str(evidence),
        today=files.today(),
        seed=seed,
        page=page,
    )
    files.write_all(out, answer.files)
    _show(answer, as_json)


@main.command()
@file_argument
@click.argument("readings", type=click.Path(path_type=Path))
@seed_option
@json_option
def prove(file: Path, readings: Path, seed: int, as_json: bool) -> None:
    """Hold ground-run readings against this aircraft's own band."""
    from vanewise.jobs import compute, files

    _show(compute.prove(files.read_text(file), str(file), files.read_text(readings), str(readings), seed=seed), as_json)


@main.command()
@click.argument("observations", type=click.Path(path_type=Path))
@json_option
def wear(observations: Path, as_json: bool) -> None:
    """Forecast wear from looks at the wear port. Hours left with an interval, and when to look again."""
    from vanewise.jobs import compute, files

    _show(compute.wear(files.read_text(observations), str(observations)), as_json)


@main.command()
@click.argument("home", type=click.Path(path_type=Path))
@json_option
def due(home: Path, as_json: bool) -> None:
    """Say what next, by when and why, for every aircraft kept in HOME."""
    from vanewise.jobs import files, kept

    _show(kept.due(home, today=files.today()), as_json)


@main.command()
@click.argument("home", type=click.Path(path_type=Path))
@json_option
def verify(home: Path, as_json: bool) -> None:
    """Check the chain of every record kept in HOME. What is read from it is rebuilt."""
    from vanewise.jobs import kept

    answer = kept.verify(home)
    _show(answer, as_json)
    if answer.data.problems:
        click.get_current_context().exit(2)


@main.command()
@click.argument("home", type=click.Path(path_type=Path))
@click.argument("backup_file", metavar="FILE", type=click.Path(path_type=Path))
@json_option
def backup(home: Path, backup_file: Path, as_json: bool) -> None:
    """Write everything kept in HOME to a backup FILE. People may go on working meanwhile."""
    from vanewise.jobs import kept

    _show(kept.backup(home, backup_file), as_json)


@main.command()
@click.argument("backup_file", metavar="FILE", type=click.Path(path_type=Path))
@click.argument("home", type=click.Path(path_type=Path))
@json_option
def restore(backup_file: Path, home: Path, as_json: bool) -> None:
    """Restore a backup FILE into an empty HOME. Every chain is checked before it says so."""
    from vanewise.jobs import kept

    _show(kept.restore(backup_file, home), as_json)


@main.command()
@click.option("--out", type=click.Path(path_type=Path), default=Path("demo-out"), show_default=True, metavar="DIR")
@click.option("--fresh", is_flag=True, help="Start the demo's home folder anew.")
@json_option
def demo(out: Path, fresh: bool, as_json: bool) -> None:
    """Play an invented case through all ten stages. It is kept in DIR/home."""
    from vanewise.demo import play

    _show(play.play(out, fresh=fresh, say=None if as_json else click.echo), as_json)


home_option = click.option(
    "--home", type=click.Path(path_type=Path), default=None, metavar="DIR", help="Where records are kept."
)


@main.command()
@home_option
@click.option("--port", type=int, default=8137, show_default=True, help="The next free one is taken when busy.")
@click.option("--lan", is_flag=True, help="Serve on this machine's networks too; needs a passphrase.")
@click.option("--name", "hosts", multiple=True, metavar="HOST", help="A further name the pages are asked for by.")
@click.option("--certificate", type=click.Path(path_type=Path), metavar="PEM", help="Serve https with it.")
@click.option("--key", type=click.Path(path_type=Path), metavar="PEM", help="The certificate's key.")
def serve(
    home: Path | None,
    port: int,
    lan: bool,
    hosts: tuple[str, ...],
    certificate: Path | None,
    key: Path | None,
) -> None:
    """Serve the pages on this machine (loopback), or with --lan on its networks."""
    from vanewise.jobs import files
    from vanewise.web import serve as web

    web.serve(home or files.default_home(), port=port, lan=lan, hosts=hosts, certificate=certificate, key=key)


@main.command()
@home_option
def passphrase(home: Path | None) -> None:
    """Set the passphrase that --lan asks everyone for. Setting another ends every open session."""
    from vanewise.jobs import files, kept

    words = click.prompt("Passphrase, 15 characters or more", hide_input=True, confirmation_prompt="Once more")
    click.echo(kept.set_passphrase(home or files.default_home(), words))


@main.command()
@click.argument("what", type=click.Choice(["aircraft", "evidence", "ground-run", "wear", "study"]), default="aircraft")
def schema(what: str) -> None:
    """Print the JSON Schema of a file format."""
    from vanewise.jobs import compute

    click.echo(compute.schema(what))


cli_curves.put_on(main, _show)
cli_kept.put_on(main, _show)
