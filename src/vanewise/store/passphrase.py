"""The passphrase of a home: one for everybody who works on these aircraft, kept only as an argon2id hash.

It guards the pages when they are served beyond this machine. The file lies in the home folder, readable by its owner,
and is not part of a backup.
"""

from __future__ import annotations

import hashlib
import os
import secrets
from threading import Lock
from typing import Any, Final

from vanewise.errors import wrong
from vanewise.store.home import Home

SHORTEST: Final = 15
"""Characters. What NIST SP 800-63B-4 asks of a password that stands alone (from memory, not read again)."""
LONGEST: Final = 200

# One at a time: each check takes memory on purpose, and guessing must not be made faster by asking in parallel.
_one_at_a_time = Lock()


def set_passphrase(home: Home, words: str) -> None:
    """Keep the hash of a new passphrase; every session opened under the old one ends. Raises InputError."""
    if not SHORTEST <= len(words) <= LONGEST or len(set(words)) < 5:
        raise wrong(
            "passphrase",
            f"{SHORTEST} to {LONGEST} characters, such as four or five words",
            f"{len(words)} characters" if len(words) < SHORTEST or len(words) > LONGEST else "the same few signs again",
            "take several words that nobody would put together, and write them down where the aircraft's papers are",
        )
    fresh = home.path / f".passphrase.{secrets.token_hex(8)}"
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as handle:
        handle.write(_hasher().hash(words))
        handle.flush()
        os.fsync(handle.fileno())
    os.replace(fresh, home.passphrase_file)


def is_set(home: Home) -> bool:
    return bool(_kept(home))


def holds(home: Home, words: str) -> bool:
    """Whether these are the words. Takes some 50 ms on purpose; one check at a time."""
    from argon2.exceptions import InvalidHashError, VerificationError

    kept = _kept(home)
    if not kept or len(words) > LONGEST:
        return False
    with _one_at_a_time:
        try:
            return bool(_hasher().verify(kept, words))
        except (VerificationError, InvalidHashError):
            return False


def mark(home: Home) -> str:
    """A short text that changes whenever the passphrase does."""
    return hashlib.sha256(_kept(home).encode()).hexdigest()[:16]


def _kept(home: Home) -> str:
    try:
        return home.passphrase_file.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return ""


def _hasher() -> Any:
    """Argon2id with the library's defaults: the second choice of RFC 9106, section 4 (64 MiB, 3 passes, 4 lanes)."""
    from argon2 import PasswordHasher

    return PasswordHasher()
