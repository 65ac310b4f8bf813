"""Serve the pages on this machine only.

``python -m vanewise.web.serve --home DIR --port N`` does what ``vanewise serve`` does.
"""

from __future__ import annotations

import logging
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from vanewise.errors import wrong

HOST = "127.0.0.1"
DEFAULT_PORT = 8137
TRIES = 20
THREADS = 8

log = logging.getLogger("vanewise.serve")


def serve(
    home: Path, *, port: int = DEFAULT_PORT, url: str | None = None, say: Callable[[str], Any] = click.echo
) -> None:
    """Serve the home folder until Ctrl-C, on loopback; the address is the last thing said.

    A busy port is passed over for the next free one. The compiled solver is loaded in a thread of its own, so that
    the first page does not wait for it. Raises InputError when no port near ``port`` is free.
    """
    from vanewise.store.settings import configure, migrate

    configure(home, url)
    migrate()
    server, taken = _listen(port)
    threading.Thread(target=_warm, name="warm", daemon=True).start()
    say(f"The pages are at http://{HOST}:{taken}/ (Ctrl-C ends)")
    sys.stdout.flush()
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()


def _listen(port: int) -> tuple[Any, int]:
    """A waitress server on ``port`` or the next free one, and which it is."""
    from waitress import create_server

    from vanewise.web.wsgi import application

    for candidate in range(port, port + TRIES):
        try:
            server = create_server(
                application(),
                host=HOST,
                port=candidate,
                threads=THREADS,
                ident=None,
                # A photograph is a few megabytes; anything far past that is no photograph.
                max_request_body_size=30_000_000,
            )
        except OSError:
            continue
        return server, int(server.effective_port)
    raise wrong("port", "a free port", f"{port} to {port + TRIES - 1} are all in use", "choose another with --port")


def _warm() -> None:
    """Load the solver before the first person asks for it; without numba the numpy one answers."""
    from vanewise.web import engine

    try:
        engine.warm()
    except Exception:
        # Nothing may keep the pages from being served; the page that computes tells what is wrong.
        log.exception("the solver could not be loaded ahead")


@click.command()
@click.option("--home", type=click.Path(path_type=Path), required=True)
@click.option("--port", type=int, default=DEFAULT_PORT)
def main(home: Path, port: int) -> None:
    serve(home, port=port)


if __name__ == "__main__":
    main()
