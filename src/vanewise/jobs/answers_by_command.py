"""What each command answers with ``--json``, by the command's name."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.contamination import Scope
from vanewise.diagnosis.types import Causes
from vanewise.jobs.meanwhile import Meantime
from vanewise.jobs.miswiring import ReadLike, TwoEnds
from vanewise.jobs.own_words import Meant
from vanewise.jobs.shapes import (
    BackedUp,
    Begun,
    Checked,
    ComponentCards,
    Due,
    Followed,
    KeptEntries,
    Layouts,
    LivesTold,
    Modes,
    Played,
    Proved,
    Swept,
    TableRead,
    TakenIn,
    Verified,
    WrittenFiles,
)
from vanewise.jobs.study_shapes import Studied
from vanewise.network.changed import ChangedLayout
from vanewise.network.load import FlowBudget, PumpLoad
from vanewise.network.margin import MarginMap
from vanewise.watch.types import WearForecast
from vanewise.work.types import WorkPackage

ANSWERS: Final[Mapping[str, type]] = MappingProxyType(
    {
        "layouts": Layouts,
        "ask": Begun,
        "validate": Checked,
        "sweep": Swept,
        "study": Studied,
        "without": ChangedLayout,
        "margin": MarginMap,
        "load": PumpLoad,
        "budget": FlowBudget,
        "with-standby": ChangedLayout,
        "swapped": TwoEnds,
        "reads-like": ReadLike,
        "modes": Modes,
        "words": Meant,
        "meanwhile": Meantime,
        "diagnose": Causes,
        "trace": Scope,
        "plan": WorkPackage,
        "prove": Proved,
        "wear": WearForecast,
        "due": Due,
        "verify": Verified,
        "backup": BackedUp,
        "restore": BackedUp,
        "demo": Played,
        "run-up": KeptEntries,
        "readings": Followed,
        "read-table": TableRead,
        "put-off": KeptEntries,
        "calendar": WrittenFiles,
        "card": WrittenFiles,
        "lives": LivesTold,
        "components": ComponentCards,
        "export": WrittenFiles,
        "import": TakenIn,
    }
)
"""Command -> what its ``--json`` prints."""
