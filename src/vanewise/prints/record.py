"""The draft of a maintenance record entry as pages, with empty lines to sign on. Nothing here signs."""

from __future__ import annotations

from typing import Any, Final

from vanewise.prints.press import paper, typeset
from vanewise.record.types import MaintenanceRecord, RecordField
from vanewise.wording import capital
from vanewise.work.cautions import CAUTIONS


def record_pdf(record: MaintenanceRecord, *, page: str = "a4") -> bytes:
    """The draft as pages. The head digest of the chain is printed whole, so that paper anchors it.

    The last paragraph stands on the page with the places to sign, so that no signature stands on a page of its own.
    """
    fields = [_field(field) for field in record.fields if field.text.strip()]
    last = fields[-1]["paragraphs"] if fields else []
    together = len(last) > 1 and sum(map(len, last[-1]["lines"])) < KEPT_TOGETHER
    data = {
        "paper": paper(page),
        "aircraft": record.aircraft,
        "foot": f"Draft of {record.drafted_on}, not signed. Work package {record.package[:12]}.",
        "draft": CAUTIONS["draft"].text,
        "fields": fields,
        "kept_with_signature": [last.pop()] if together else [],
        "beside_signature": record.beside_signature,
        "missing": record.missing,
        "head": grouped(record.head_digest) or "none yet",
        "package": grouped(record.package),
        "drafted_on": str(record.drafted_on),
    }
    return typeset("record", data, record.drafted_on)


def grouped(digest: str) -> str:
    """A digest in groups of eight, which people can compare by eye."""
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8))


SHORT_LINE: Final = 64
"""Characters of a line that fits in half a page's width."""
LONG_LIST: Final = 6
KEPT_TOGETHER: Final = 2500
"""Characters of a last paragraph that certainly fit on one page with the places to sign."""


def _field(field: RecordField) -> dict[str, Any]:
    """Paragraphs of a field: where the first line of a block of lines is its title, it stands out."""
    paragraphs = []
    for block in field.text.split("\n\n"):
        lines = block.split("\n")
        titled = len(lines) > 1
        told = lines[1:] if titled else lines
        short = len(told) >= LONG_LIST and all(len(line) <= SHORT_LINE for line in told)
        paragraphs.append({"title": lines[0] if titled else "", "lines": told, "columns": 2 if short else 1})
    return {
        "name": capital(field.name),
        "required_by": field.required_by,
        "paragraphs": paragraphs,
    }
