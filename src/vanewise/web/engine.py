"""What the server keeps in memory between requests: the loaded solver, and the last few banks.

A bank is some tens of megabytes, so at most four are held, the least used going first; none is ever written to disk.
"""

from __future__ import annotations

import os


def warm() -> None:
    """Import and run the compiled solver once, leaving a core free so that pages stay alive meanwhile."""
    os.environ.setdefault("NUMBA_NUM_THREADS", str(max(1, (os.cpu_count() or 2) - 1)))
    from vanewise import network
    from vanewise.aircraft import layouts

    network.sweep(layouts.make("suction-one-pump"), (1000.0, 2000.0))
