"""What is loaded before anyone can ask for a page."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

LOADED_FIRST = """
import pathlib, pkgutil, sys, threading
from vanewise.web import serve

begun = []
threading.Thread.start = lambda self: begun.append((self.name, set(sys.modules)))

class Server:
    def run(self): pass
    def close(self): pass

serve._listen = lambda *_: (Server(), 8300)
serve.serve(pathlib.Path(sys.argv[1]), say=lambda words: print(words, "warm" in dict(begun)))
from vanewise.web import views
pages = {f"vanewise.web.views.{module.name}" for module in pkgutil.iter_modules(views.__path__)}
name, modules = begun[0]
print(name, sorted(pages - modules), "vanewise.network" in modules, "numba" in modules)
"""


def test_pages_are_loaded_before_a_second_thread_and_before_the_address(tmp_path: Path) -> None:
    command = [sys.executable, "-c", LOADED_FIRST, str(tmp_path / "home")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [
        "The pages are at http://127.0.0.1:8300/ (Ctrl-C ends) True",
        "warm [] True False",
    ]
