"""Where numba keeps the compiled kernel: the one module of the core that may touch environment and disk.

Import it before numba. The folder's name carries a digest of everything the machine code depends on (the kernel's own
source and constants, numba, llvmlite, Python, the processor), so an edit can never be answered by old code, two
machines can share a home folder, and neither site-packages nor the home folder has to be writable.
"""

from __future__ import annotations

import hashlib
import os
import platform
import sys
import tempfile
from importlib import metadata
from pathlib import Path

SOURCES = (
    "network/compiled.py",
    "network/compiled_laws.py",
    "network/compiled_load.py",
    "network/compiled_moves.py",
    "network/compiled_newton.py",
    "network/compiled_proof.py",
    "network/lanes.py",
    "network/elements.py",
    "network/law_constants.py",
    "values/air_lines.py",
    "values/iso_6358.py",
    "values/standard_atmosphere_1976.py",
)
"""Files whose numbers or code end up in the compiled kernel."""


def cache_digest(package: Path) -> str:
    """Digest of sources, library versions, Python and processor; any change gives another folder."""
    digest = hashlib.sha256()
    for name in SOURCES:
        digest.update(name.encode())
        digest.update((package / name).read_bytes())
    parts = [metadata.version("numba"), metadata.version("llvmlite"), sys.version, platform.machine(), _processor()]
    digest.update("\n".join(parts).encode())
    return digest.hexdigest()


def _processor() -> str:
    """Name and abilities of the processor: machine code made on one must not be run on a lesser one."""
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
    except OSError:
        return platform.processor()
    wanted = ("model name", "flags", "Features", "CPU part")
    return "\n".join(dict.fromkeys(line for line in lines if line.startswith(wanted)))


def user_cache() -> Path:
    """The folder for caches that the operating system expects, by its own conventions."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def prepare() -> Path:
    """Point numba at its folder and return it. A folder that cannot be written falls back to a temporary one."""
    name = f"kernel-{cache_digest(Path(__file__).resolve().parent.parent)[:32]}"
    wanted = (folder / name for folder in (_wanted(), Path(tempfile.gettempdir()) / f"vanewise-{_user()}"))
    place = next(filter(_writable, wanted), None) or Path(tempfile.mkdtemp(prefix="vanewise-"))
    os.environ["NUMBA_CACHE_DIR"] = str(place)
    imported = sys.modules.get("numba")
    if imported is not None:
        # It read the environment when somebody else imported it; its default folder knows no digest.
        imported.config.CACHE_DIR = str(place)
    _widen()
    return place


def _widen() -> None:
    """Let the compiler use vectors of 512 bits where the processor does not slow down for them.

    LLVM keeps to 256 unless told, for the first processors that had 512 did slow down; those with arithmetic in half
    precision came later and do not. What a person has set for numba stands. Numba's own index knows the difference.
    """
    if os.environ.get("NUMBA_CPU_FEATURES") or os.environ.get("NUMBA_CPU_NAME"):
        return
    from llvmlite import binding  # numba needs it in any case

    features = binding.get_host_cpu_features().flatten()
    if "+avx512fp16" not in features.split(","):
        return
    os.environ["NUMBA_CPU_FEATURES"] = f"{features},-prefer-256-bit"
    imported = sys.modules.get("numba")
    if imported is not None:
        imported.config.CPU_FEATURES = os.environ["NUMBA_CPU_FEATURES"]


def _wanted() -> Path:
    try:
        return user_cache() / "vanewise"
    except RuntimeError:  # no home folder can be found at all
        return Path(tempfile.gettempdir()) / "vanewise"


def _user() -> str:
    return str(os.getuid()) if hasattr(os, "getuid") else os.environ.get("USERNAME", "user")


def _writable(place: Path) -> bool:
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        probe = place / f"probe-{os.getpid()}"
        probe.write_bytes(b"")
        probe.unlink()
    except OSError:
        return False
    return True


def threads() -> int:
    """Threads to solve on: all cores this process may use, or fewer when NUMBA_NUM_THREADS says so."""
    wanted = os.environ.get("NUMBA_NUM_THREADS", "")
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(int(wanted), cores) if wanted.isdigit() and int(wanted) > 0 else cores


FOLDER = prepare()
