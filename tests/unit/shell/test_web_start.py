"""The server is there at once: the first page loads no solver, and a busy port is passed over."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

FIRST_PAGE = """
import sys
from pathlib import Path
from vanewise.store.settings import configure, migrate
configure(Path(sys.argv[1]), hosts=["testserver"])
migrate()
from django.test import Client
assert Client().get("/").status_code == 200
heavy = {"numpy", "scipy", "numba", "typst", "PIL", "graphlay"} & set(sys.modules)
sys.exit(f"the first page loads {sorted(heavy)}" if heavy else 0)
"""

BUSY = """
import sys
from pathlib import Path
from vanewise.store.settings import configure
configure(Path(sys.argv[1]))
from vanewise.web.serve import _listen
server, taken = _listen(int(sys.argv[2]))
server.close()
print(taken)
"""


def run(program: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", program, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)


def test_the_first_page_waits_for_no_solver(tmp_path: Path) -> None:
    done = run(FIRST_PAGE, tmp_path / "home")
    assert done.returncode == 0, done.stderr[-800:]


def test_a_busy_port_is_passed_over(tmp_path: Path) -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = busy.getsockname()[1]
        done = run(BUSY, tmp_path / "home", port)
        assert done.returncode == 0, done.stderr[-800:]
        assert port < int(done.stdout) < port + 20
