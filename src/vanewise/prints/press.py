"""From values to pages: one way to typeset, with shipped fonts and a fixed date, so that the same bytes come twice.

Everything a template shows goes in as JSON, so no text from a person can become markup. Nothing is read but this
package's own templates and fonts.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Final, Literal

import msgspec

from vanewise.errors import wrong

Page = Literal["a4", "letter"]
PAPERS: Final[Mapping[str, str]] = {"a4": "a4", "letter": "us-letter"}


def paper(page: str) -> str:
    """The paper's name for the template. Raises :class:`InputError` for any but ``a4`` and ``letter``."""
    if page not in PAPERS:
        raise wrong("page", "a4 or letter", f'"{page}"', "choose one of the two")
    return PAPERS[page]


def typeset(template: str, data: Mapping[str, Any], dated: datetime.date) -> bytes:
    """The PDF of a template filled with ``data``. ``dated`` is the document's own date, never the clock's."""
    import typst  # late: it takes time to load, and a job that prints nothing does without

    with resources.as_file(resources.files("vanewise.prints")) as folder:
        pdf = typst.compile(
            str(Path(folder) / "templates" / f"{template}.typ"),
            root=str(folder),
            font_paths=[str(Path(folder) / "fonts")],
            ignore_system_fonts=True,
            sys_inputs={"data": msgspec.json.encode(data, order="sorted").decode()},
            timestamp=datetime.datetime.combine(dated, datetime.time(), tzinfo=datetime.UTC),
        )
    return bytes(pdf)


def qr_svg(text: str) -> str:
    """A QR code of plain text as SVG, with the quiet zone the standard asks for."""
    import segno

    return str(segno.make(text, error="m", micro=False).svg_inline(border=4, omitsize=True))
