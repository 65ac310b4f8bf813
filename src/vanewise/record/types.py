"""The draft of a maintenance record entry, and tags. Drafts only: a certificated person signs."""

from __future__ import annotations

import datetime
from typing import Literal

import msgspec


class RecordField(msgspec.Struct, frozen=True, kw_only=True):
    name: str
    text: str
    required_by: str
    """The duty it answers, with the rule's number only where its text was read."""


class MaintenanceRecord(msgspec.Struct, frozen=True, kw_only=True):
    aircraft: str
    fields: tuple[RecordField, ...]
    missing: tuple[str, ...]
    """What a person still has to fill in: name, certificate number and kind, signature."""
    text: str
    package: str
    head_digest: str
    drafted_on: datetime.date
    beside_signature: tuple[str, ...] = ()
    """What a signature means, what has to hold before flight and which rules were followed, to be read at signing."""


TagKind = Literal["filter fitted", "part fitted", "part removed", "hose end"]


class Tag(msgspec.Struct, frozen=True, kw_only=True):
    kind: TagKind
    title: str
    lines: tuple[tuple[str, str], ...]
    qr: str
    """Plain text for the QR code."""
