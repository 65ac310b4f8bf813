"""What got dirty, what is shielded, what proves it clean: set logic over the plumbing as a directed graph."""

from vanewise.contamination.closure import SuspectState, closure_problem, open_suspects, suspect_states
from vanewise.contamination.told import Told, told, with_told
from vanewise.contamination.trace import said_once, trace
from vanewise.contamination.types import (
    BarrierFinding,
    BarrierState,
    Change,
    Closure,
    ClosureKind,
    EventKind,
    Finding,
    FrontFinding,
    Look,
    Reach,
    Scope,
    SheddingEvent,
    Suspect,
)
from vanewise.contamination.words import is_shielded

__all__ = [
    "BarrierFinding",
    "BarrierState",
    "Change",
    "Closure",
    "ClosureKind",
    "EventKind",
    "Finding",
    "FrontFinding",
    "Look",
    "Reach",
    "Scope",
    "SheddingEvent",
    "Suspect",
    "SuspectState",
    "Told",
    "closure_problem",
    "is_shielded",
    "open_suspects",
    "said_once",
    "suspect_states",
    "told",
    "trace",
    "with_told",
]
