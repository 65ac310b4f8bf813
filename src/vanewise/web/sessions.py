"""Who is signed in, and how fast wrong words may follow each other. Both live in memory and end with the server.

Nothing here reads a clock: the time in seconds is an argument.
"""

from __future__ import annotations

import hashlib
import math
import secrets
from collections import OrderedDict, deque
from dataclasses import dataclass
from threading import Lock
from typing import Final

IDLE_S: Final = 4 * 3600.0
"""Judgement: a lunch break, not a night."""
LONGEST_S: Final = 16 * 3600.0
"""Judgement: a long working day."""
MOST: Final = 500
"""Sessions and addresses remembered."""


@dataclass
class _Session:
    mark: str
    opened: float
    seen: float


class Sessions:
    """Open sessions, by the digest of a random token: reading this memory gives nobody a token."""

    def __init__(self) -> None:
        self._open: OrderedDict[str, _Session] = OrderedDict()
        self._lock = Lock()

    def begin(self, mark: str, now: float) -> str:
        """A new session under the passphrase of that mark; returns its token."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._open[_digest(token)] = _Session(mark=mark, opened=now, seen=now)
            while len(self._open) > MOST:
                self._open.popitem(last=False)
        return token

    def holds(self, token: str, mark: str, now: float) -> bool:
        """Whether the session is open; it then counts as seen. A changed passphrase ends it, and so does time."""
        key = _digest(token)
        with self._lock:
            session = self._open.get(key)
            if session is None:
                return False
            if session.mark != mark or now - session.seen > IDLE_S or now - session.opened > LONGEST_S:
                del self._open[key]
                return False
            session.seen = now
            self._open.move_to_end(key)
            return True

    def end(self, token: str) -> None:
        with self._lock:
            self._open.pop(_digest(token), None)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class Throttle:
    """After ``FREE`` wrong tries an address waits, each time twice as long; all addresses together have a limit too.

    Judgement: a person who mistypes is not held up, and a machine gets some thirty tries an hour.
    """

    FREE: Final = 5
    FIRST_WAIT_S: Final = 10.0
    LONGEST_WAIT_S: Final = 900.0
    FORGET_S: Final = 3600.0
    TOGETHER: Final = 60
    """Wrong tries of all addresses within ``TOGETHER_S``; beyond it everybody waits."""
    TOGETHER_S: Final = 600.0

    def __init__(self) -> None:
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._all: deque[float] = deque(maxlen=self.TOGETHER)
        self._lock = Lock()

    def wait_s(self, address: str, now: float) -> int:
        """Whole seconds that address has to wait before its next try; 0 when it may try now."""
        with self._lock:
            count, last = self._wrong.get(address, (0, now))
            if now - last > self.FORGET_S:
                count = 0
            wait = 0.0
            if count >= self.FREE:
                wait = last + min(self.FIRST_WAIT_S * 2.0 ** (count - self.FREE), self.LONGEST_WAIT_S) - now
            if len(self._all) == self.TOGETHER:
                wait = max(wait, self._all[0] + self.TOGETHER_S - now)
            return max(0, math.ceil(wait))

    def wrong(self, address: str, now: float) -> None:
        with self._lock:
            count, last = self._wrong.pop(address, (0, now))
            self._wrong[address] = ((0 if now - last > self.FORGET_S else count) + 1, now)
            self._all.append(now)
            while len(self._wrong) > MOST:
                self._wrong.popitem(last=False)

    def right(self, address: str) -> None:
        with self._lock:
            self._wrong.pop(address, None)
