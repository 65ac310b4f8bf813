"""The reference libraries' own environment, and the file of their answers that the tests compare with."""

from __future__ import annotations

import hashlib
from pathlib import Path

from tools.devkit.environment import digest_of, make_venv, pip_install, read_stamp, venv_python, write_stamp
from tools.devkit.machine import Machine, Stop

FOLDER = ".venv-oracles"
LOCK = "oracles/requirements.lock"
ANSWERS = Path("build") / "oracles.json"


def make(machine: Machine, *, again: bool = False) -> Path:
    """Make build/oracles.json, unless it stands already and neither a case nor a library changed. Raises Stop."""
    python = _environment(machine)
    answers = machine.root / ANSWERS
    digest = _digest(machine)
    stamp = read_stamp(machine.root / FOLDER)
    if not again and answers.exists() and stamp.get("answers") == digest:
        machine.say("The answers of the reference libraries are up to date.")
        return answers
    code = machine.run([python, "-m", "oracles.run", "--out", answers])
    if code != 0:
        raise Stop(
            "Reference libraries",
            expected="every oracle case to be answered",
            found=f"'python -m oracles.run' ended with {code}, see above",
            next_step="mend the case in oracles/ that is named",
        )
    write_stamp(machine.root / FOLDER, {**stamp, "answers": digest})
    return answers


def _environment(machine: Machine) -> Path:
    folder = machine.root / FOLDER
    python = venv_python(machine, folder)
    want = {
        "python": ".".join(map(str, machine.version)) + " " + machine.executable,
        "place": str(machine.root),
        "lock": digest_of(machine.root / LOCK),
    }
    have = read_stamp(folder)
    if want.items() <= have.items() and machine.capture([python, "-c", "pass"]).ok:
        return python
    machine.say("Making the reference libraries' environment in .venv-oracles (about a minute, once).")
    make_venv(machine, folder)
    pip_install(machine, python, "-r", LOCK)
    write_stamp(folder, want)
    return python


def _digest(machine: Machine) -> str:
    total = hashlib.sha256()
    for path in sorted((machine.root / "oracles").rglob("*")):
        if path.suffix in {".py", ".lock", ".toml", ".json", ".csv"}:
            total.update(f"{path.name} {digest_of(path)}\n".encode())
    return total.hexdigest()[:20]
