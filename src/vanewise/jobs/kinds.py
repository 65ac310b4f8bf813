"""The kinds of entry in an aircraft's journal, and what each holds.

Content is what a person said, in the words and units they used (``"4.9 inHg"``), or an answer as it was shown, as JSON
text; the parsers of the core read it again each time. So a number is never converted on its way into the journal, and
an old entry can be read by a newer parser.
"""

from __future__ import annotations

from typing import Final

DESCRIPTION: Final = "description"
"""``name``, ``toml``, ``why``, ``valid_from``, ``invented``: the whole air system as it stood from that date."""
REPORT: Final = "report"
"""``report`` (its id), ``title``, ``words``, ``when``, ``altitude``, ``temperature``."""
READING: Final = "reading"
LAMP: Final = "lamp reading"
REMARK: Final = "remark"
EVENT: Final = "event"
CHECK: Final = "check"
NOTE: Final = "note"
"""These six: ``report`` (empty: it stands for the aircraft, as a baseline or routine reading) and ``item``, a table of
the evidence file."""
CAUSES: Final = "causes"
"""``report``, ``answer``, ``description_digest``, ``program``, ``seed``, ``evidence_head``."""
FINDING: Final = "barrier finding"
"""``report`` and ``item``: a filter or valve as found."""
SHEDDING: Final = "shedding event"
"""``report`` and ``item``: which part released debris, and in which event."""
PACKAGE: Final = "work package"
"""``report``, ``package`` (its id), ``answer``, ``parent``, ``description_digest``, ``program``."""
STEP: Final = "job step"
"""``package``, ``what`` and its particulars: a task done, a count, a closure, a connection, a fitting, a torque."""
RUN: Final = "ground run"
"""``run`` (its id), ``package``, ``answer`` (the plan with its bands), ``description_digest``, ``program``."""
RUN_READING: Final = "ground-run reading"
"""``run`` and ``item``."""
VERDICT: Final = "verdict"
"""``run``, ``answer``, ``program``."""
RECORD: Final = "record draft"
"""``record`` (its id), ``package``, ``answer``, ``program``."""
WEAR: Final = "wear reading"
"""``part`` and ``item``: one look at the wear port."""
METERS: Final = "meters"
"""``tach``, ``hour_meter``, ``date``."""
LIMIT: Final = "limit"
"""``limit`` (its id) and ``item``: one limit on one part or job."""
DONE: Final = "limit met"
"""``limit``, ``date``, ``tach``, ``hour_meter``."""
PUT_OFF: Final = "put off"
"""``limit``, ``until``, ``reason``: a decision with a name."""
FILE: Final = "file"
"""``digest``, ``name``, ``media_type``, ``size``, ``about``."""

EVIDENCE: Final = (READING, LAMP, REMARK, EVENT, CHECK, NOTE)
SCHEMA: Final = 1
