"""What a type says about itself, for the reference pages: its own words, and those beside its fields."""

from __future__ import annotations

import ast
import inspect
import re
import textwrap
from typing import Any


def prose(text: str | None) -> str:
    """A docstring as running Markdown: one line to a paragraph, code marks as Markdown has them."""
    paragraphs = re.split(r"\n\s*\n", inspect.cleandoc(text or ""))
    plain = [" ".join(paragraph.split()) for paragraph in paragraphs]
    joined = "\n\n".join(plain).replace("``", "`")
    joined = re.sub(r"\bNone\b", "`null`", joined)
    return re.sub(r":(?:class|func|mod|data|meth):`~?\.?(?:[\w.]*\.)?(\w+)`", r"`\1`", joined)


def meanings(cls: type) -> dict[str, str]:
    """The text below each field of a class and of those it is made from."""
    found: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        if base.__module__.startswith("vanewise"):
            found |= _written_below(base)
    return found


def _written_below(cls: type) -> dict[str, str]:
    tree = ast.parse(textwrap.dedent(inspect.getsource(cls))).body[0]
    assert isinstance(tree, ast.ClassDef)
    found = {}
    for node, below in zip(tree.body, [*tree.body[1:], None], strict=True):
        if not isinstance(node, ast.AnnAssign) or not isinstance(node.target, ast.Name):
            continue
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) and isinstance(below.value.value, str):
            found[node.target.id] = prose(below.value.value)
    return found


_PLAIN = {
    "string": "text",
    "null": "nothing",
    "boolean": "true or false",
    "integer": "whole number",
    "number": "number",
}


def shape(entry: dict[str, Any]) -> str:
    """What a piece of JSON Schema allows, in words. Types of their own become links on the same page."""
    if "$ref" in entry:
        name = entry["$ref"].rsplit("/", 1)[1]
        return f"[{name}](#{name.lower()})"
    if "enum" in entry:
        return " or ".join(f"`{word}`" for word in entry["enum"])
    kind = entry.get("type", "")
    options = entry.get("anyOf") or ([{"type": one} for one in kind] if isinstance(kind, list) else [])
    if options:
        return " or ".join(dict.fromkeys(shape(option) for option in options))
    if kind == "array":
        inside = entry.get("prefixItems") or [entry["items"]]
        return f"list of {', '.join(shape(item) for item in inside)}"
    if kind == "object":
        return f"by name: {shape(entry['additionalProperties'])}"
    return "date" if entry.get("format") == "date" else _PLAIN[kind]
