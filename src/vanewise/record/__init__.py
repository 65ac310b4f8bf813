"""Record: the draft entry and tags, canonical text and its chain, history, components, and what the rules ask.

The names below are the public ones; each is loaded when it is first asked for.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from vanewise.record.canon import canonical
    from vanewise.record.chain import entry_digest, verify
    from vanewise.record.components import component_card
    from vanewise.record.entry import draft
    from vanewise.record.history import from_csv, from_json, history_schema, standing, to_csv, to_json
    from vanewise.record.jurisdiction import read_pack
    from vanewise.record.upcast import UPCASTER

_HOMES: Final = {
    "UPCASTER": "upcast",
    "canonical": "canon",
    "component_card": "components",
    "draft": "entry",
    "entry_digest": "chain",
    "from_csv": "history",
    "from_json": "history",
    "history_schema": "history",
    "read_pack": "jurisdiction",
    "standing": "history",
    "to_csv": "history",
    "to_json": "history",
    "verify": "chain",
}

__all__ = [
    "UPCASTER",
    "canonical",
    "component_card",
    "draft",
    "entry_digest",
    "from_csv",
    "from_json",
    "history_schema",
    "read_pack",
    "standing",
    "to_csv",
    "to_json",
    "verify",
]


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{home}"), name)
