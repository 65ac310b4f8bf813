"""Everything outside this process that the commands touch, behind one object, so that tests can stand in for it."""

from __future__ import annotations

import ctypes
import importlib
import importlib.util
import os
import platform
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path


class Stop(Exception):
    """The command cannot go on. Says where, what was expected, what was found and what to do next."""

    def __init__(self, where: str, *, expected: str, found: str, next_step: str):
        super().__init__(f"{where}\n  Expected: {expected}\n  Found:    {found}\n  Next:     {next_step}")


@dataclass(frozen=True)
class Result:
    """How a finished program ended, and what it printed (both streams)."""

    code: int
    text: str = ""

    @property
    def ok(self) -> bool:
        return self.code == 0

    def tail(self, lines: int = 15) -> str:
        return "\n".join(self.text.strip().splitlines()[-lines:])


class Job:
    """A program running beside us, with its output in a file."""

    def __init__(self, process: subprocess.Popen[bytes], log: Path):
        self._process = process
        self._log = log

    def wait(self) -> Result:
        code = self._process.wait()
        return Result(code, self._log.read_text(encoding="utf-8", errors="replace"))

    def stop(self) -> None:
        """End it if it still runs; used when the command itself is given up."""
        if self._process.poll() is None:
            self._process.terminate()
            self._process.wait()


class Machine:
    """The machine as it is. Tests replace it by one that answers from a table and remembers what was asked."""

    def __init__(self, root: Path):
        self.root = root
        self.environ: Mapping[str, str] = dict(os.environ)
        self.executable = sys.executable
        self.version = (sys.version_info[0], sys.version_info[1], sys.version_info[2])
        self.system = platform.system()

    # facts

    def is_root(self) -> bool:
        return hasattr(os, "geteuid") and os.geteuid() == 0

    def is_terminal(self) -> bool:
        return sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()

    def has_module(self, name: str) -> bool:
        importlib.invalidate_caches()
        return importlib.util.find_spec(name) is not None

    def which(self, name: str) -> str | None:
        return shutil.which(name)

    def has_library(self, name: str) -> bool:
        """Whether the system's loader finds a shared library of that name."""
        try:
            ctypes.CDLL(name)
        except OSError:
            return False
        return True

    def has_files(self, folder: str, pattern: str) -> bool:
        return next(Path(folder).rglob(pattern), None) is not None

    def clock(self) -> float:
        return time.monotonic()

    # acts

    def say(self, text: str) -> None:
        print(text, flush=True)

    def pause(self, seconds: float) -> None:
        time.sleep(seconds)

    def remove_tree(self, folder: Path) -> None:
        shutil.rmtree(folder)

    def write_file(self, path: Path, text: str) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def remove_file(self, path: Path) -> None:
        path.unlink(missing_ok=True)

    def _environment(self, extra: Mapping[str, str] | None) -> dict[str, str]:
        return {**self.environ, **(extra or {})}

    def run(
        self, command: Sequence[str | Path], *, env: Mapping[str, str] | None = None, seconds: float | None = None
    ) -> int:
        """Run a program whose output the person sees; its exit code. Raises TimeoutError after ``seconds``."""
        process = subprocess.Popen([str(word) for word in command], cwd=self.root, env=self._environment(env))
        try:
            return process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.terminate()
            process.wait()
            raise TimeoutError from None
        except KeyboardInterrupt:
            # The program got the same key and ends by itself; wait so that its last words come before ours.
            process.wait()
            raise

    def capture(self, command: Sequence[str | Path], *, env: Mapping[str, str] | None = None) -> Result:
        """Run a program and keep what it prints. A program that cannot be started counts as failed (127)."""
        try:
            done = subprocess.run(
                [str(word) for word in command],
                cwd=self.root,
                env=self._environment(env),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
                encoding="utf-8",
                errors="replace",
                check=False,
            )
        except OSError as problem:
            return Result(127, str(problem))
        return Result(done.returncode, done.stdout)

    def start(self, command: Sequence[str | Path], *, log: Path, env: Mapping[str, str] | None = None) -> Job:
        """Start a program beside us, its output going to ``log``."""
        log.parent.mkdir(parents=True, exist_ok=True)
        with log.open("wb") as stream:
            process = subprocess.Popen(
                [str(word) for word in command],
                cwd=self.root,
                env=self._environment(env),
                stdin=subprocess.DEVNULL,
                stdout=stream,
                stderr=subprocess.STDOUT,
            )
        return Job(process, log)
