"""The project's own environment in ``.venv``: made from the locks, stamped when whole, rebuilt when it is not.

The stamp is taken away before anything is installed and written when it is done, so an environment whose making was
interrupted carries none and is made anew. numba goes in first, with what compiling the solver needs, and the solver
is compiled in a process of its own while the rest is installed.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tools.devkit.machine import Job, Machine, Stop
from tools.devkit.system import ensure_venv_module

RUNTIME = "requirements.lock"
FAST = "requirements-fast.lock"
DEV = "requirements-dev.lock"

Stamp = dict[str, str]


class Kernel:
    """The compiled solver being made ready beside us, or the fact that there is none here."""

    def __init__(self, machine: Machine, job: Job | None):
        self._machine = machine
        self._job = job
        self._ready = False

    def wait(self, *, required: bool) -> bool:
        """Wait for it; False when the numpy solver has to do. Raises Stop then, if it is ``required``."""
        if self._ready:
            return True
        if self._job is None:
            if required:
                raise Stop(
                    "Compiling the solver",
                    expected="numba in .venv",
                    found="none: it has no binary here, or could not be fetched (said above when .venv was made)",
                    next_step="use a Python that numba has a binary for, remove .venv and run the command again",
                )
            return False
        result = self._job.wait()
        self._job = None
        self._ready = result.ok
        if not result.ok and required:
            raise Stop(
                "Compiling the solver",
                expected="'python -m vanewise.diagnosis.compiled --warm' to end well",
                found=f"exit code {result.code}:\n{result.tail()}",
                next_step="mend src/vanewise/network, or remove .venv if an installed package is at fault",
            )
        if not result.ok:
            self._machine.say(
                "The compiled solver could not be made here; the numpy solver answers, with a smaller bank. "
                "Its own words are in build/kernel.log."
            )
        return self._ready

    def stop(self) -> None:
        if self._job is not None:
            self._job.stop()


@dataclass(frozen=True)
class Environment:
    """A whole environment: its Python, and the compiled solver that may still be on its way."""

    python: Path
    kernel: Kernel

    def script(self, name: str) -> Path:
        return self.python.with_name(f"{name}.exe" if self.python.suffix == ".exe" else name)


def venv_python(machine: Machine, folder: Path) -> Path:
    return folder / "Scripts" / "python.exe" if machine.system == "Windows" else folder / "bin" / "python"


def digest_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:20]


def project_digest(root: Path) -> str:
    """Digest of what an installed project depends on in pyproject.toml; a change of test settings is none."""
    data = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    return hashlib.sha256(json.dumps([data["build-system"], data["project"]], sort_keys=True).encode()).hexdigest()[:20]


def read_stamp(folder: Path) -> Stamp:
    try:
        stamp = json.loads((folder / "stamp.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def write_stamp(folder: Path, stamp: Mapping[str, str]) -> None:
    (folder / "stamp.json").write_text(json.dumps(stamp, indent=1, sort_keys=True) + "\n", encoding="utf-8")


def in_ci(machine: Machine) -> bool:
    return bool(machine.environ.get("CI"))


def make_venv(machine: Machine, folder: Path) -> Path:
    """A new empty environment in ``folder``; what stood there goes."""
    ensure_venv_module(machine)
    if folder.exists():
        machine.remove_tree(folder)
    result = machine.capture([machine.executable, "-m", "venv", folder])
    if not result.ok:
        raise Stop(
            "Making the environment",
            expected=f"'{machine.executable} -m venv {folder.name}' to end well",
            found=f"exit code {result.code}:\n{result.tail()}",
            next_step="try another Python from 3.11 to 3.14, for example: python3.12 dev.py",
        )
    return venv_python(machine, folder)


def pip_install(machine: Machine, python: Path, *arguments: str) -> None:
    """pip with hashes of every package demanded and nothing built from source."""
    result = _pip(machine, python, "--require-hashes", "--only-binary", ":all:", *arguments)
    if not result.ok:
        version = ".".join(map(str, machine.version[:2]))
        raise Stop(
            f"Installing {' '.join(word for word in arguments if word.endswith('.lock'))}",
            expected=f"a binary of every package in it for Python {version} on {machine.system}",
            found=f"pip ended with:\n{result.tail()}",
            next_step="check that this machine reaches its package index (pip config list), then run the command again",
        )


def _pip(machine: Machine, python: Path, *arguments: str):
    # A person's own pip settings stay in force, except the ones that would install elsewhere. Byte code is left to
    # the first import: most of what is installed is never imported, and writing it all costs a third of the time.
    env = {"PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_INPUT": "1", "PIP_REQUIRE_VIRTUALENV": "0"}
    return machine.capture([python, "-m", "pip", "install", "--quiet", "--no-compile", *arguments], env=env)


def prepare(machine: Machine, *, dev: bool = False) -> Environment:
    """Make ``.venv`` whole and start the compiled solver. Cheap when nothing changed. Raises Stop."""
    folder = machine.root / ".venv"
    python = venv_python(machine, folder)
    want = _wanted(machine, dev=dev)
    have = read_stamp(folder)
    if not _usable(machine, python, have, want):
        if folder.exists():
            machine.say("The environment in .venv is out of date or was not finished; making it anew.")
        else:
            machine.say("Making the environment in .venv (about a minute, once).")
        make_venv(machine, folder)
        have = {key: want[key] for key in ("python", "place")}
    if have == {**have, **want}:
        return Environment(python, _start_kernel(machine, python, have))

    (folder / "stamp.json").unlink(missing_ok=True)
    if have.get("fast") != want["fast"]:
        have["engine"] = _install_fast(machine, python)
        have["fast"] = want["fast"]
    kernel = _start_kernel(machine, python, have)
    try:
        _install_rest(machine, python, have, want)
    except BaseException:
        kernel.stop()
        raise
    write_stamp(folder, {**have, **want})
    return Environment(python, kernel)


def _wanted(machine: Machine, *, dev: bool) -> Stamp:
    root = machine.root
    want = {
        "python": ".".join(map(str, machine.version)) + " " + machine.executable,
        "place": str(root),
        "runtime": digest_of(root / RUNTIME),
        "fast": digest_of(root / FAST),
        "project": project_digest(root),
    }
    if dev:
        want["dev"] = digest_of(root / DEV)
    return want


def _usable(machine: Machine, python: Path, have: Stamp, want: Stamp) -> bool:
    """Whether what stands can be built on: nothing in it was made from another lock, and its Python still runs."""
    if not have or not python.exists():
        return False
    clash = [key for key in want if key != "project" and have.get(key, want[key]) != want[key]]
    stale_dev = "dev" in have and have["dev"] != digest_of(machine.root / DEV)
    return not clash and not stale_dev and machine.capture([python, "-c", "import pip"]).ok


def _install_fast(machine: Machine, python: Path) -> str:
    """numba where it can be had: 'kernel', else 'numpy', said plainly; in CI its absence is an error."""
    try:
        pip_install(machine, python, "-r", FAST)
    except Stop:
        if in_ci(machine):
            raise
        version = ".".join(map(str, machine.version[:2]))
        machine.say(
            f"numba has no binary for Python {version} on this system (or could not be fetched), so the numpy solver "
            "is used: the same answers, slower, with a smaller bank. Remove .venv to try again."
        )
        return "numpy"
    return "kernel"


def _install_rest(machine: Machine, python: Path, have: Stamp, want: Stamp) -> None:
    locks = []
    if have.get("runtime") != want["runtime"]:
        locks += ["-r", RUNTIME]
    if "dev" in want and have.get("dev") != want["dev"]:
        locks += ["-r", DEV]
    if locks:
        pip_install(machine, python, *locks)
    if have.get("project") == want["project"]:
        return
    # The build backend is in the runtime lock, so nothing unhashed is fetched to install the project itself.
    result = _pip(machine, python, "--no-deps", "--no-build-isolation", "-e", ".")
    if not result.ok:
        raise Stop(
            "Installing the project itself",
            expected="'pip install --no-deps --no-build-isolation -e .' to end well",
            found=f"exit code {result.code}:\n{result.tail()}",
            next_step="mend pyproject.toml, or remove .venv and run the command again",
        )


def _start_kernel(machine: Machine, python: Path, have: Stamp) -> Kernel:
    if have.get("engine") != "kernel":
        return Kernel(machine, None)
    command = [python, "-m", "vanewise.diagnosis.compiled", "--warm"]
    env = {"PYTHONPATH": str(machine.root / "src")}
    return Kernel(machine, machine.start(command, log=machine.root / "build" / "kernel.log", env=env))
