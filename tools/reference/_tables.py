"""Markdown tables for the reference pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table. Bars and line ends inside a cell are made harmless."""
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    lines += [f"| {' | '.join(_cell(cell) for cell in row)} |" for row in rows]
    return "\n".join(lines)


def _cell(text: str) -> str:
    return " ".join(str(text).replace("|", "\\|").split())


def code(text: str) -> str:
    return f"`{text}`" if text else ""
