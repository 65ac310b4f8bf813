"""What an instrument shop found, read for what it means: dust inside reopens the search for its source.

A report that is filed unread is the commonest way to overhaul the same instrument twice.
"""

from __future__ import annotations

import datetime
import re
from typing import Final

from vanewise.diagnosis.types import Remark
from vanewise.errors import Problem
from vanewise.work.types import PartDocument

DUST_SYMPTOM: Final = "shop_found_dust_in_indicator"
"""The word of the evidence vocabulary for it."""
_DUST: Final = re.compile(r"\b(dust|dusty|carbon|soot|sooty|graphite|grit|black|grey|gray)\b", re.IGNORECASE)
_NOT: Final = re.compile(r"\b(no|nil|without|free of|none)\b[^.;,]*$", re.IGNORECASE)


def tells_of_dust(report: str) -> bool:
    """True when a report speaks of dust or carbon inside and does not say there was none.

    It looks for words and their negation within the same clause; a person reads the report all the same.
    """
    return any(_NOT.search(report[: found.start()]) is None for found in _DUST.finditer(report))


def report_problem(document: PartDocument) -> Problem | None:
    """Why an instrument may not go back yet: its report is missing, or nobody has put a name to having read it."""
    part = document.part.replace("_", " ")
    if not document.report.strip():
        return Problem(
            where=f"{part}, report",
            expected="what the shop found inside, in its own words",
            found="nothing",
            next_step="copy it from the report, or ask the shop; 'nothing found' is an answer too",
        )
    if not document.report_read_by.strip():
        return Problem(
            where=f"{part}, report",
            expected="the name of the person who read it to its last line",
            found="nobody",
            next_step="read it: dust inside means that something upstream still sheds",
        )
    return None


def evidence_from_report(document: PartDocument, received: datetime.date | None = None) -> Remark | None:
    """The report as evidence for the diagnosis: present when it tells of dust, looked for and absent when it does not.

    None while there is no report to read.
    """
    if not document.report.strip():
        return None
    return Remark(
        id=f"shop report {document.reference or document.serial_on_part}",
        symptom=DUST_SYMPTOM,
        present=tells_of_dust(document.report),
        about=document.part,
        when=document.dated or received,
        who=document.report_read_by,
        note=document.report,
    )
