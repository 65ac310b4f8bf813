"""What the server loads ahead of the first question, in a thread of its own."""

from __future__ import annotations

import logging
import os
import pkgutil
import threading
from importlib import import_module

log = logging.getLogger("vanewise.serve")

_warming, _warmed = threading.Event(), threading.Event()
_under_way: set[tuple[str, str]] = set()


def load_pages() -> None:
    """Import every page and what pages import, in one thread, before anyone can ask for one.

    Two threads that import the same packages from two ends at once can each be handed half a module by the other.
    """
    from vanewise.web import views

    for module in pkgutil.iter_modules(views.__path__):
        import_module(f"{views.__name__}.{module.name}")


def warm() -> None:
    """Run the best solver once, leaving a core free so that pages stay alive meanwhile."""
    _warming.set()
    os.environ.setdefault("NUMBA_NUM_THREADS", str(max(1, (os.cpu_count() or 2) - 1)))
    from vanewise import network
    from vanewise.aircraft import layouts

    network.sweep(layouts.make("suction-one-pump"), (1000.0, 2000.0), engine=network.best_engine())
    _warmed.set()


def make_ready(aircraft: str, report: str) -> None:
    """Build the bank of states behind a report while its person reads and types; only in a server.

    A second call while the first is under way does nothing, and a bank that is kept costs nothing.
    """
    key = (aircraft, report)
    if not _warming.is_set() or key in _under_way:
        return
    _under_way.add(key)
    threading.Thread(target=_make_ready, args=key, name="bank", daemon=True).start()


def _make_ready(aircraft: str, report: str) -> None:
    from django.db import connection

    from vanewise.jobs import causes

    _warmed.wait()
    try:
        causes.make_ready(aircraft, report)
    except Exception:
        # The page that asks for causes says what is wrong, and to whom; here nobody is waiting.
        log.info("no bank ahead for a report", exc_info=True)
    finally:
        connection.close()
        _under_way.discard((aircraft, report))
