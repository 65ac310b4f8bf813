"""Write the hash-locked requirement files (maintainers only; needs ``uv`` on the path).

    python3 tools/lock.py            # keep the versions that stand, change only what must change
    python3 tools/lock.py --upgrade  # take the newest version of everything that the ranges allow

One lock serves every Python from 3.11 to 3.14 and every system. It carries hashes and no address: where a package
comes from is the business of the machine that installs it. ``tests/unit/test_locks.py`` watches both facts, and
``tools/check_locks.py`` asks whether every system really has the binaries.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Lock:
    """One lock: what goes in (arguments for uv, text on its standard input) and the locks it has to agree with."""

    path: str
    purpose: str
    arguments: tuple[str, ...]
    agrees_with: tuple[str, ...] = ()
    extra: str = ""
    """Name of the optional dependency whose requirements are the input."""


LOCKS = (
    Lock(
        "requirements.lock",
        "what runs, and the build backend",
        ("pyproject.toml", "--extra", "heic", "--extra", "tls", "--group", "build"),
    ),
    Lock("requirements-fast.lock", "what compiling the solver needs", ("-",), ("requirements.lock",), extra="fast"),
    Lock(
        "requirements-dev.lock",
        "tests, style and types",
        ("--group", "dev"),
        ("requirements.lock", "requirements-fast.lock"),
    ),
    Lock(
        "oracles/requirements.lock", "reference libraries, in an environment of their own", ("oracles/requirements.in",)
    ),
)


def command(lock: Lock, *, upgrade: bool) -> list[str]:
    """The uv call of one lock. It names no index, and it keeps uv from writing one, or its own command line."""
    call = ["uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-header", "--no-annotate"]
    call += ["--python-version", "3.11", "--fork-strategy", "fewest", "--only-binary", ":all:"]
    call += [*lock.arguments, "--output-file", lock.path]
    for other in lock.agrees_with:
        call += ["--constraint", other]
    return [*call, "--upgrade"] if upgrade else call


def standard_input(lock: Lock) -> str:
    if not lock.extra:
        return ""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    # vanewise.network imports nothing else, so the solver can be compiled before the rest is installed.
    also = [need for need in project["dependencies"] if need.startswith(("numpy", "msgspec"))]
    return "\n".join([*project["optional-dependencies"][lock.extra], *also]) + "\n"


def main() -> int:
    parser = argparse.ArgumentParser(description="Write the hash-locked requirement files.")
    parser.add_argument("--upgrade", action="store_true", help="take the newest versions that the ranges allow")
    options = parser.parse_args()
    for lock in LOCKS:
        subprocess.run(
            command(lock, upgrade=options.upgrade), cwd=ROOT, check=True, text=True, input=standard_input(lock)
        )
        print(f"{lock.path}: {lock.purpose}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
