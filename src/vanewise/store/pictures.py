"""A photograph as it came in, and the pictures made from it that are shown.

The original is kept byte for byte, by digest. What is shown is decoded and written anew in a limited process
(:mod:`vanewise.store.picture_worker`): upright, without place, time, serial number of the telephone, or anything else
that was not the picture.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from threading import BoundedSemaphore
from types import MappingProxyType
from typing import Any, Final

import msgspec

from vanewise.errors import InputError, wrong
from vanewise.store.picture_worker import LARGEST_PIXELS, SIDES

LARGEST_BYTES: Final = 25_000_000
"""A telephone's picture takes 2 to 12 million bytes."""
PATIENCE_S: Final = 60
AT_ONCE: Final = 2
"""Pictures decoded at the same time, each within its own memory limit."""
WORKER: Final = Path(__file__).with_name("picture_worker.py")
MEDIA: Final[Mapping[str, str]] = MappingProxyType({"jpeg": "image/jpeg", "png": "image/png", "heic": "image/heic"})
PASSED_ON: Final = ("PATH", "PYTHONPATH", "SYSTEMROOT", "LANG", "LC_ALL", "LD_LIBRARY_PATH")
"""What of the environment the decoder sees: no address of a database, no key."""

_turn = BoundedSemaphore(AT_ONCE)


class Pictures(msgspec.Struct, frozen=True, kw_only=True):
    """What was made of a photograph: both JPEG, and the size of the larger in pixels."""

    media_type: str
    width: int
    height: int
    shown: bytes
    small: bytes


def make(data: bytes) -> Pictures:
    """The pictures to show of a photograph's bytes.

    Raises InputError for what is no JPEG, HEIC or PNG by its content, is too large in bytes or pixels, cannot be
    decoded, or takes too long.
    """
    if not data:
        raise wrong("photograph", "a picture", "an empty file", "take it again, or choose another")
    if len(data) > LARGEST_BYTES:
        found = f"{len(data) / 1e6:.0f} million"
        raise wrong(
            "photograph",
            f"at most {LARGEST_BYTES // 1_000_000} million bytes",
            found,
            "take it at a lower resolution, or cut it to what matters",
        )
    with _turn:
        told, rest = _decode(data)
    if "refused" in told:
        raise _refusal(str(told["refused"]))
    first, second = told["sizes"]
    return Pictures(
        media_type=MEDIA[told["kind"]],
        width=told["width"],
        height=told["height"],
        shown=rest[:first],
        small=rest[first : first + second],
    )


def _decode(data: bytes) -> tuple[dict[str, Any], bytes]:
    environment = {name: os.environ[name] for name in PASSED_ON if name in os.environ}
    with tempfile.TemporaryDirectory(prefix="picture-") as folder:
        try:
            done = subprocess.run(
                [sys.executable, "-P", "-B", str(WORKER)],
                input=data,
                capture_output=True,
                timeout=PATIENCE_S,
                check=False,
                cwd=folder,
                env=environment,
            )
        except subprocess.TimeoutExpired:
            return {"refused": "slow"}, b""
    line, _, rest = done.stdout.partition(b"\n")
    try:
        told: dict[str, Any] = json.loads(line)
    except ValueError:
        # Killed by its limits, or broken by the picture.
        return {"refused": "torn"}, b""
    if "sizes" in told and sum(told["sizes"]) != len(rest):
        return {"refused": "torn"}, b""
    return told, rest


def _refusal(why: str) -> InputError:
    expected, found, then = {
        "kind": ("a JPEG, HEIC or PNG picture by its content", "something else", "choose the photograph itself"),
        "pixels": (
            f"at most {LARGEST_PIXELS // 1_000_000} million pixels",
            "more than that",
            "take it at a lower resolution",
        ),
        "slow": (f"a picture decoded within {PATIENCE_S} s", "one that takes longer", "take it again"),
        "no heic": (
            "a JPEG picture; this installation has no decoder for HEIC",
            "a HEIC picture",
            'set the camera to its most compatible format, or install the program with its extra "heic"',
        ),
    }.get(why, ("a whole picture", "one that breaks off or cannot be read", "take it again, or send it once more"))
    return wrong("photograph", expected, found, then)


__all__ = ["LARGEST_BYTES", "SIDES", "Pictures", "make"]
