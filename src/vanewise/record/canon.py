"""Canonical text: one way to write a value, so that equal values have equal digests on every machine and database.

The text is JSON in UTF-8 with sorted keys and no spaces, every string in Unicode form NFC, and only strings, integers,
booleans, null, lists and mappings in it. Binary floating point has no place in a record: a reading of 4.7 inHg is
written as text with its unit, or as an integer of a stated unit. NUL and lone surrogates are refused, because some
databases cannot hold them.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any, Final

from vanewise.errors import InputError, wrong

MOST_LEVELS: Final = 50
"""Depth of nesting beyond which a value is no record."""


def canonical(value: Any) -> str:
    """The canonical text of a value.

    Raises :class:`InputError` naming the place for a float, a key that is no string, two keys that are equal once
    normalised, NUL, a lone surrogate, or nesting beyond ``MOST_LEVELS``.
    """
    return json.dumps(_plain(value, "", 0), ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def from_canonical(text: str) -> Any:
    """The value of a canonical text. Raises :class:`InputError` unless the text is canonical to the last byte."""
    try:
        value = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise wrong("record text", "canonical text", f"text that cannot be read: {error}", _RESTORE) from None
    if canonical(value) != text:
        raise wrong("record text", "canonical text", "the same content written in another way", _RESTORE)
    return value


_RESTORE: Final = "compare with the printed record or a backup; nothing in the tool writes such text"


def _plain(value: Any, where: str, level: int) -> Any:
    if level > MOST_LEVELS:
        raise wrong(where or "record", f"at most {MOST_LEVELS} levels", "deeper nesting", "put it in a flatter form")
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        return int(value)
    if isinstance(value, str):
        return _text(value, where)
    if isinstance(value, Mapping):
        return _mapping(value, where, level)
    if isinstance(value, Sequence) and not isinstance(value, (bytes, bytearray)):
        return [_plain(item, f"{where}[{index}]", level + 1) for index, item in enumerate(value)]
    raise wrong(
        where or "record",
        "text, a whole number, yes or no, a list or a mapping",
        f"{type(value).__name__} {value!r}"[:120],
        "write a measured number as text with its unit, and a date as YYYY-MM-DD",
    )


def _mapping(value: Mapping[Any, Any], where: str, level: int) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, item in value.items():
        if not isinstance(key, str):
            raise wrong(where or "record", "names that are text", f"{type(key).__name__} {key!r}", "write it as text")
        name = _text(key, f"{where}.{key}" if where else key)
        if name in out:
            raise wrong(where or "record", "each name once", f'"{name}" twice', "keep one of the two")
        out[name] = _plain(item, f"{where}.{name}" if where else name, level + 1)
    return out


def _text(value: str, where: str) -> str:
    text = unicodedata.normalize("NFC", str(value))
    if "\x00" in text:
        raise wrong(where or "record", "text without NUL", "a NUL character", "take the character out")
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise wrong(
            where or "record", "text in Unicode", "half of a surrogate pair", "type the text again; the file was cut"
        ) from None
    return text


def is_canonical(text: str) -> bool:
    """True when ``text`` is canonical."""
    try:
        from_canonical(text)
    except InputError:
        return False
    return True
