"""What has to come from the operating system: a Python that can make environments, and what the tests need beside it.

We install such things only where that is ours to do: as root, with apt. Never by sudo, never into the system's own
Python. Everywhere else the person gets the exact command.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tools.devkit.machine import Machine, Result, Stop

APT_TRIES = 6
APT_WAIT_S = 20.0
LOCKED = ("could not get lock", "unable to lock", "unable to acquire the dpkg frontend lock")

BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts")
NO_CLUSTER = Path("/etc/postgresql-common/createcluster.d/vanewise.conf")


def can_install(machine: Machine) -> bool:
    return machine.is_root() and machine.which("apt-get") is not None


def apt_install(machine: Machine, packages: tuple[str, ...], why: str) -> None:
    """Install Debian packages; waits a while for another apt that holds the lock. Raises Stop with the command."""
    machine.say(f"Installing {', '.join(packages)} with apt: {why}.")
    _apt(machine, ("update",), packages)
    _apt(machine, ("install", "-y", "--no-install-recommends", *packages), packages)


def _apt(machine: Machine, words: tuple[str, ...], packages: tuple[str, ...]) -> None:
    path = machine.environ.get("PATH", "/usr/bin:/bin")
    # dpkg refuses to work without the folders of system programs, which a bare environment may lack.
    env = {"DEBIAN_FRONTEND": "noninteractive", "PATH": f"{path}:/usr/local/sbin:/usr/sbin:/sbin"}
    command = ("apt-get", "-q", "-o", "DPkg::Lock::Timeout=120", *words)
    result = Result(1)
    for attempt in range(APT_TRIES):
        result = machine.capture(command, env=env)
        if result.ok:
            return
        if not any(sign in result.text.lower() for sign in LOCKED):
            break
        if attempt + 1 < APT_TRIES:
            machine.say("Another program is using apt; waiting for it.")
            machine.pause(APT_WAIT_S)
    raise Stop(
        "Installing system packages",
        expected=f"apt-get to install {', '.join(packages)}",
        found=f"'{' '.join(command)}' failed:\n{result.tail()}",
        next_step=f"put apt right, then run: apt-get install {' '.join(packages)}",
    )


def ensure_venv_module(machine: Machine) -> None:
    """Make sure that this Python can make environments with pip in them. Debian ships that part separately."""
    if machine.has_module("ensurepip") and machine.has_module("venv"):
        return
    package = f"python{machine.version[0]}.{machine.version[1]}-venv"
    if can_install(machine):
        apt_install(machine, (package,), "this Python cannot make environments yet")
        if machine.has_module("ensurepip"):
            return
        found = f"{package} is installed, and {machine.executable} still has no 'ensurepip'"
        next_step = "run dev.py with the system's own python3, or a Python that was installed whole"
    else:
        found = f"the module 'ensurepip' is missing from {machine.executable}"
        next_step = f"on Debian or Ubuntu run, as root: apt-get install {package}   (elsewhere: install Python whole)"
    raise Stop(
        "Making the environment",
        expected="a Python with the modules 'venv' and 'ensurepip'",
        found=found,
        next_step=next_step,
    )


def find_browser(machine: Machine) -> str | None:
    """Path of a Chromium or relative of it, or None. ``VANEWISE_CHROMIUM`` names one by hand."""
    named = machine.environ.get("VANEWISE_CHROMIUM")
    if named:
        return named
    for name in BROWSER_NAMES:
        path = machine.which(name)
        if path:
            return path
    return None


@dataclass(frozen=True)
class Programs:
    """What the tests need from outside Python: the browser, if any, and what is not run for want of something."""

    browser: str | None
    not_run: tuple[str, ...] = ()


def ensure_programs(machine: Machine) -> Programs:
    """Browser, font, PostgreSQL and a library for the tests, installed in one go where that is ours to do.

    On Linux what is missing is an error, except PostgreSQL: that, and a missing browser elsewhere, only leave out some
    tests, which are then listed as not run.
    """
    missing = _missing(machine)
    if missing and can_install(machine):
        _without_a_running_server(machine, lambda: apt_install(machine, tuple(missing), "the tests need it"))
        missing = _missing(machine)
    for package, what in missing.items():
        if package == "postgresql":
            continue
        by_hand = "   (or set VANEWISE_CHROMIUM to the program's path)" if package == "chromium" else ""
        raise Stop(
            "Programs for the tests",
            expected=what,
            found="none on this machine",
            next_step=f"on Debian as root: apt-get install {package}{by_hand}",
        )
    browser = find_browser(machine)
    not_run = []
    if browser is None:
        not_run.append("browser tests (install Chromium, or set VANEWISE_CHROMIUM to the path of one)")
    if not has_postgresql(machine):
        not_run.append("the store's tests on PostgreSQL (on Debian as root: apt-get install postgresql)")
    return Programs(browser, tuple(not_run))


def _missing(machine: Machine) -> dict[str, str]:
    """Debian packages to install, each with what it is for."""
    if machine.system != "Linux":
        return {}
    missing = {}
    if find_browser(machine) is None:
        missing["chromium"] = "Chromium (or a relative of it) on the PATH"
    if not any(machine.has_files(folder, "*.[to]tf") for folder in FONT_FOLDERS):
        missing["fonts-dejavu-core"] = f"a font under {' or '.join(FONT_FOLDERS)}"
    if not machine.has_library("libgomp.so.1"):
        missing["libgomp1"] = "the library libgomp.so.1, which a reference library needs"
    if not machine.has_library("libatomic.so.1"):
        missing["libatomic1"] = "the library libatomic.so.1, which the browser's driver needs"
    if not has_postgresql(machine):
        missing["postgresql"] = "PostgreSQL's own programs"
    return missing


def has_postgresql(machine: Machine) -> bool:
    """Whether the server's programs are there. Debian keeps them off the PATH."""
    return machine.which("initdb") is not None or machine.has_files("/usr/lib/postgresql", "initdb")


def _without_a_running_server(machine: Machine, install: Callable[[], None]) -> None:
    """Debian's package would make and start a server of its own; the tests start theirs, so that is not wanted."""
    machine.write_file(NO_CLUSTER, "create_main_cluster = false\n")
    try:
        install()
    finally:
        machine.remove_file(NO_CLUSTER)
