"""How words are put together: capitals, sentences and lists, the same wherever text is made."""

from __future__ import annotations

from collections.abc import Sequence


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return f"{text[:1].upper()}{text[1:]}"


def sentence(text: str) -> str:
    """With a capital first letter, and a full stop where nothing ends it."""
    words = capital(text.strip())
    return words if words.endswith((".", "!", "?")) else f"{words}."


def listed(names: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(names) <= 1:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
