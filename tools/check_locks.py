"""Ask whether one lock really serves every Python and system (maintainers only; needs pip and the package index).

    python3 tools/check_locks.py

For each lock, Python and system pip resolves the lock without installing it, from binaries only and with hashes. A
cell that fails is printed with the package that has no binary there; numba's lock may fail, and is separate for that.
"""

from __future__ import annotations

import itertools
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
SYSTEMS = {
    "Linux x86_64": ("manylinux_2_28_x86_64", "manylinux_2_27_x86_64", "manylinux_2_17_x86_64", "manylinux2014_x86_64"),
    "Linux aarch64": (
        "manylinux_2_28_aarch64",
        "manylinux_2_27_aarch64",
        "manylinux_2_17_aarch64",
        "manylinux2014_aarch64",
    ),
    "macOS arm64": tuple(f"macosx_{major}_0_{kind}" for major in (14, 13, 12, 11) for kind in ("arm64", "universal2")),
    "Windows amd64": ("win_amd64",),
}
LOCKS = ("requirements.lock", "requirements-fast.lock", "requirements-dev.lock", "oracles/requirements.lock")
MAY_FAIL = {"requirements-fast.lock"}


def ask(lock: str, python: str, platforms: tuple[str, ...]) -> str:
    """Empty when the lock resolves there, else pip's own words."""
    with tempfile.TemporaryDirectory() as target:
        command = [sys.executable, "-m", "pip", "install", "--quiet", "--dry-run", "--ignore-installed", "--no-deps"]
        command += ["--target", target, "--require-hashes", "--only-binary", ":all:", "--implementation", "cp"]
        command += ["--python-version", python, "-r", lock]
        for platform in platforms:
            command += ["--platform", platform]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    errors = [line for line in done.stderr.splitlines() if line.startswith("ERROR")]
    return "" if done.returncode == 0 else (errors or [done.stderr.strip()])[-1]


def main() -> int:
    bad = 0
    for lock, (system, platforms), python in itertools.product(LOCKS, SYSTEMS.items(), PYTHONS):
        problem = ask(lock, python, platforms)
        print(f"{'no' if problem else 'ok':3} {lock:27} {system:14} {python}  {problem}", flush=True)
        bad += bool(problem) and lock not in MAY_FAIL
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
