"""The draft of a maintenance record entry as pages, with empty lines to sign on. Nothing here signs."""

from __future__ import annotations

from typing import Any

from vanewise.prints.press import paper, typeset
from vanewise.record.types import MaintenanceRecord, RecordField
from vanewise.work.cautions import CAUTIONS


def record_pdf(record: MaintenanceRecord, *, page: str = "a4") -> bytes:
    """The draft as pages. The head digest of the chain is printed whole, so that paper anchors it."""
    data = {
        "paper": paper(page),
        "aircraft": record.aircraft,
        "foot": f"Draft of {record.drafted_on}, not signed. Work package {record.package[:12]}.",
        "draft": CAUTIONS["draft"].text,
        "fields": [_field(field) for field in record.fields if field.text.strip()],
        "missing": record.missing,
        "head": grouped(record.head_digest) or "none yet",
        "package": grouped(record.package),
        "drafted_on": str(record.drafted_on),
    }
    return typeset("record", data, record.drafted_on)


def grouped(digest: str) -> str:
    """A digest in groups of eight, which people can compare by eye."""
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8))


def _field(field: RecordField) -> dict[str, Any]:
    """Paragraphs of a field: where the first line of a block of lines is its title, it stands out."""
    paragraphs = []
    for block in field.text.split("\n\n"):
        lines = block.split("\n")
        titled = len(lines) > 1
        paragraphs.append({"title": lines[0] if titled else "", "lines": lines[1:] if titled else lines})
    return {
        "name": f"{field.name[:1].upper()}{field.name[1:]}",
        "required_by": field.required_by,
        "paragraphs": paragraphs,
    }
