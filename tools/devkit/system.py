"""What has to come from the operating system: a Python that can make environments, a browser and a font for tests.

We install such things only where that is ours to do: as root, with apt. Never by sudo, never into the system's own
Python. Everywhere else the person gets the exact command.
"""

from __future__ import annotations

from tools.devkit.machine import Machine, Result, Stop

APT_TRIES = 6
APT_WAIT_S = 20.0
LOCKED = ("could not get lock", "unable to lock", "unable to acquire the dpkg frontend lock")

BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts")


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


def ensure_browser(machine: Machine) -> str | None:
    """The browser for the browser tests. On Linux its absence is an error; elsewhere they are listed as not run."""
    path = find_browser(machine)
    if path or machine.system != "Linux":
        return path
    if not can_install(machine):
        raise Stop(
            "Browser tests",
            expected="Chromium (or a relative of it) on the PATH",
            found=f"none of {', '.join(BROWSER_NAMES)}",
            next_step="install it, on Debian as root: apt-get install chromium   "
            "(or set VANEWISE_CHROMIUM to the program's path)",
        )
    packages = ("chromium",) if _has_font(machine) else ("chromium", "fonts-dejavu-core")
    apt_install(machine, packages, "the browser tests need it")
    path = find_browser(machine)
    if path is None:
        raise Stop(
            "Browser tests",
            expected="Chromium on the PATH after installing it",
            found="apt-get ended well, but no such program",
            next_step="look at: apt-cache policy chromium",
        )
    return path


def ensure_font(machine: Machine) -> None:
    """A page without any font cannot be looked at; one package makes pictures comparable."""
    if machine.system != "Linux" or _has_font(machine):
        return
    if not can_install(machine):
        raise Stop(
            "Browser tests",
            expected="at least one TrueType font",
            found=f"none under {' or '.join(FONT_FOLDERS)}",
            next_step="on Debian as root: apt-get install fonts-dejavu-core",
        )
    apt_install(machine, ("fonts-dejavu-core",), "the browser tests need a font")


def _has_font(machine: Machine) -> bool:
    return any(machine.has_files(folder, "*.[to]tf") for folder in FONT_FOLDERS)
