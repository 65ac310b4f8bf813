"""The rules of a country that are shipped: what a record must hold, how long it is kept, which limits they set."""

from __future__ import annotations

from functools import cache
from importlib import resources

from vanewise.record.jurisdiction import Jurisdiction, read_pack


@cache
def rules(pack: str = "united_states") -> Jurisdiction:
    """A jurisdiction pack that is shipped."""
    text = resources.files("vanewise.record.packs").joinpath(f"{pack}.toml").read_text(encoding="utf-8")
    return read_pack(text, f"{pack}.toml")
