"""Reference of the command line, from the commands themselves."""

from __future__ import annotations

import inspect
from typing import Any

import click

from tools.reference._tables import code, table
from vanewise.cli import main
from vanewise.jobs.answers_by_command import ANSWERS


def pages() -> dict[str, str]:
    return {"commands.md": _page()}


def _page() -> str:
    with click.Context(main, info_name="vanewise") as ctx:
        names = main.list_commands(ctx)
        blocks = [
            "# Commands",
            inspect.cleandoc(main.help or ""),
            (
                "Exit code 0: done. 2: what was handed in is wrong, told in four parts (where, expected, found, next). "
                "3: it is sound, but no answer could be had. Nothing is written unless all of it can be. `--json` "
                "answers are described in [answers](answers.md); files in [the description file](description-file.md), "
                "[evidence](evidence.md), [ground-run readings](ground-run.md), "
                "[looks at the wear port](wear.md) and [studies](study.md)."
            ),
            table(
                ("command", "does"), [(f"[{name}](#vanewise-{name})", _first(main.commands[name])) for name in names]
            ),
            *(_command(ctx, name) for name in names),
        ]
    return "\n\n".join(blocks)


def _first(command: click.Command) -> str:
    return inspect.cleandoc(command.help or "").split(". ")[0].rstrip(".") + "."


def _command(parent: click.Context, name: str) -> str:
    command = main.commands[name]
    with click.Context(command, info_name=name, parent=parent) as ctx:
        usage = " ".join([ctx.command_path, *command.collect_usage_pieces(ctx)])
        rows = [_option(option, ctx) for option in command.params if isinstance(option, click.Option)]
    blocks = [f"## vanewise {name}", inspect.cleandoc(command.help or ""), f"    {usage}"]
    blocks += [table(("option", "says", "when left out"), rows)] if rows else []
    if name in ANSWERS:
        kind = ANSWERS[name].__name__
        blocks.append(f"`--json` prints [{kind}](answers.md#{kind.lower()}).")
    return "\n\n".join(blocks)


def _option(option: click.Option, ctx: click.Context) -> tuple[str, str, str]:
    takes = "" if option.is_flag else f" {option.make_metavar(ctx)}"
    many = " May be given several times." if option.multiple else ""
    return code(" ".join(option.opts) + takes), f"{option.help or _choices(option.type)}{many}", _default(option)


def _choices(kind: Any) -> str:
    return f"One of {', '.join(kind.choices)}." if isinstance(kind, click.Choice) else ""


def _default(option: click.Option) -> str:
    if option.required:
        return "must be given"
    if option.is_flag:
        return "no"
    return code(str(option.default)) if option.show_default and option.default is not None else ""
