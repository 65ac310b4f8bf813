"""What the server loads ahead of the first question, in a thread of its own."""

from __future__ import annotations

import os
import pkgutil
from importlib import import_module


def warm() -> None:
    """Import every page and run the best solver once, leaving a core free so that pages stay alive meanwhile."""
    os.environ.setdefault("NUMBA_NUM_THREADS", str(max(1, (os.cpu_count() or 2) - 1)))
    from vanewise.web import views

    for module in pkgutil.iter_modules(views.__path__):
        import_module(f"{views.__name__}.{module.name}")
    from vanewise import network
    from vanewise.aircraft import layouts

    network.sweep(layouts.make("suction-one-pump"), (1000.0, 2000.0), engine=network.best_engine())
