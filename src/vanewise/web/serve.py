"""Serve the pages: on this machine only, or with a passphrase on its networks.

``python -m vanewise.web.serve --home DIR --port N`` does what ``vanewise serve`` does.
"""

from __future__ import annotations

import logging
import shlex
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from vanewise.errors import wrong
from vanewise.web import engine
from vanewise.web import lan as lan_rules

HOST = "127.0.0.1"
DEFAULT_PORT = 8137
TRIES = 20
THREADS = 8
LARGEST_REQUEST = 30_000_000
"""Bytes. A photograph is a few millions; anything far past that is no photograph."""

log = logging.getLogger("vanewise.serve")


def serve(
    home: Path,
    *,
    port: int = DEFAULT_PORT,
    url: str | None = None,
    lan: bool = False,
    hosts: Sequence[str] = (),
    certificate: Path | None = None,
    key: Path | None = None,
    say: Callable[[str], Any] = click.echo,
) -> None:
    """Serve the home folder until Ctrl-C: on loopback, or with ``lan`` on every network of this machine.

    A busy port is passed over for the next free one. The compiled solver is loaded in a thread of its own, so that
    the first page does not wait for it. Beyond loopback everyone signs in, and only the names in ``hosts``, this
    machine's own names and its addresses are answered to. Raises InputError when no port near ``port`` is free, when
    the certificate cannot be used, or when no passphrase is set for ``lan``.
    """
    from vanewise.store.settings import configure, migrate

    files = lan_rules.check_certificate(certificate, key)
    if lan:
        _refuse_without_passphrase(home)
    known = lan_rules.allowed(hosts) if lan else ()
    configure(home, url, hosts=known, sign_in=lan, https=files is not None)
    migrate()
    server, taken = _listen(port, lan_rules.EVERYWHERE if lan else HOST, files)
    _ahead(engine.load_pages)
    threading.Thread(target=_ahead, args=(engine.warm,), name="warm", daemon=True).start()
    _announce(taken, [lan_rules.check_name(name) for name in hosts], lan=lan, https=files is not None, say=say)
    sys.stdout.flush()
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()


def _refuse_without_passphrase(home: Path) -> None:
    from vanewise.store import passphrase
    from vanewise.store.home import Home

    if not passphrase.is_set(Home(Path(home).resolve())):
        raise wrong(
            "--lan",
            "a passphrase for this home: beyond this machine nobody gets in without one",
            "none set",
            f"vanewise passphrase --home {shlex.quote(str(home))}",
        )


def _announce(port: int, hosts: Sequence[str], *, lan: bool, https: bool, say: Callable[[str], Any]) -> None:
    """Where the pages are; the address that works on this machine is the last thing said."""
    scheme = "https" if https else "http"
    if lan:
        outside = [f"{scheme}://{host}:{port}/" for host in (*hosts, *lan_rules.addresses())]
        if outside:
            say(f"On this network: {', '.join(outside)}")
            say(lan_rules.qr(outside[0]).rstrip("\n"))
        if not https:
            say(lan_rules.PLAIN)
    say(f"The pages are at {scheme}://{HOST}:{port}/ (Ctrl-C ends)")


def _listen(port: int, host: str = HOST, files: tuple[Path, Path] | None = None) -> tuple[Any, int]:
    """A server on ``port`` or the next free one, and which it is."""
    from waitress import create_server

    from vanewise.web.wsgi import application

    for candidate in range(port, port + TRIES):
        try:
            server: Any
            if files:
                server = lan_rules.TlsServer(application(), host, candidate, THREADS, LARGEST_REQUEST, files)
            else:
                server = create_server(
                    application(),
                    host=host,
                    port=candidate,
                    threads=THREADS,
                    ident=None,
                    max_request_body_size=LARGEST_REQUEST,
                )
        except OSError:
            continue
        return server, int(server.effective_port)
    raise wrong("port", "a free port", f"{port} to {port + TRIES - 1} are all in use", "choose another with --port")


def _ahead(load: Callable[[], None]) -> None:
    """Load the pages or the solver before the first person asks; without numba the numpy solver answers."""
    try:
        load()
    except Exception:
        # Nothing may keep the pages from being served; the page that needs it tells what is wrong.
        log.exception("not loaded ahead: %s", load.__name__)


@click.command()
@click.option("--home", type=click.Path(path_type=Path), required=True)
@click.option("--port", type=int, default=DEFAULT_PORT)
@click.option("--lan", is_flag=True)
@click.option("--name", "hosts", multiple=True)
def main(home: Path, port: int, lan: bool, hosts: tuple[str, ...]) -> None:
    serve(home, port=port, lan=lan, hosts=hosts)


if __name__ == "__main__":
    main()
