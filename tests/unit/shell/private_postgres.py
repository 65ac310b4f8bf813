"""A PostgreSQL server of our own for the length of a test run: own folder, own socket, no port, ended at the end."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def programs() -> Path | None:
    """The folder of PostgreSQL's own programs; distributions keep them off the PATH."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))
    if folders:
        return folders[-1]
    found = shutil.which("initdb")
    return Path(found).resolve().parent if found else None


def can_run() -> bool:
    """True when a server can be started here; initdb refuses root, so root needs the package's own user."""
    if programs() is None:
        return False
    return os.name == "posix" and (os.geteuid() != 0 or _runuser() is not None)


def _runuser() -> str | None:
    """The program that acts as another user; a short PATH leaves its folder out."""
    return shutil.which("runuser") or shutil.which("runuser", path="/usr/sbin:/sbin")


@contextmanager
def private_postgres(*, durable: bool) -> Iterator[str]:
    """Start a server and give its address with the database ``work``. ``durable`` keeps fsync on, for kill tests."""
    bin_folder = programs()
    assert bin_folder is not None
    # The socket's path must stay under 107 signs, so this is not pytest's own deep folder.
    folder = Path(tempfile.mkdtemp(prefix="vwpg"))
    root = os.geteuid() == 0
    if root:
        shutil.chown(folder, "postgres", "postgres")

    def run(*command: str) -> None:
        prefix = [_runuser() or "runuser", "-u", "postgres", "--"] if root else []
        done = subprocess.run([*prefix, *command], capture_output=True, text=True, cwd=folder, check=False)
        if done.returncode != 0:
            raise RuntimeError(f"{command[0]}: {done.stderr or done.stdout}")

    data = folder / "data"
    control = str(bin_folder / "pg_ctl")
    try:
        run(str(bin_folder / "initdb"), "-D", str(data), "-U", "tester", "-A", "trust", "--locale=C", "-E", "UTF8")
        settings = f"-k {folder} -c listen_addresses='' -c fsync={'on' if durable else 'off'}"
        run(control, "-D", str(data), "-o", settings, "-l", str(folder / "log"), "-w", "start")
        try:
            run(str(bin_folder / "createdb"), "-h", str(folder), "-U", "tester", "work")
            yield f"postgresql://tester@/work?host={folder}"
        finally:
            run(control, "-D", str(data), "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
