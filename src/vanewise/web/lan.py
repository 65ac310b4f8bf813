"""Serving beyond this machine: by which names and addresses, with whose certificate, and what is said about it."""

from __future__ import annotations

import io
import ipaddress
import socket
import ssl
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from vanewise.errors import wrong

EVERYWHERE: Final = "0.0.0.0"
#: An address set aside for documentation (RFC 5737). Nothing is sent: the system only says which way it would go.
FAR_AWAY: Final = ("192.0.2.1", 9)
PLAIN: Final = (
    "Plain http: anyone on this network can read what passes, the passphrase and the photographs too.\n"
    "Use it on a network whose people you know. With a certificate of your own: --certificate and --key."
)


def addresses() -> tuple[str, ...]:
    """This machine's own addresses on its networks (IPv4), the one most likely meant first."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, suppress(OSError):
        probe.connect(FAR_AWAY)
        found.append(str(probe.getsockname()[0]))
    with suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    outside = [address for address in found if not ipaddress.ip_address(address).is_loopback]
    return tuple(dict.fromkeys(outside))


def names() -> tuple[str, ...]:
    """What this machine is called on its network."""
    name = socket.gethostname().lower().rstrip(".")
    short = name.split(".")[0]
    return tuple(dict.fromkeys(item for item in (name, short, f"{short}.local") if item))


def check_name(name: str) -> str:
    """A host name a person gave, in lower case. Raises InputError for one with a wildcard, a port or a path in it."""
    plain = name.strip().lower().rstrip(".")
    letters = set("abcdefghijklmnopqrstuvwxyz0123456789-.")
    if not plain or not set(plain) <= letters or plain.startswith((".", "-")):
        raise wrong("--name", "a host name, such as hangar.local", f'"{name}"', "leave out http://, port and stars")
    return plain


def qr(address: str) -> str:
    """The address as a QR code for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(out=out, border=2, compact=True)
    return out.getvalue()


class TlsServer:
    """The same pages behind a certificate, by a server that speaks TLS; waitress does not."""

    def __init__(self, application: Any, host: str, port: int, threads: int, largest: int, files: tuple[Path, Path]):
        self._server = _tls_server(application, (host, port), threads, files)
        self._server.max_request_body_size = largest
        self._server.prepare()
        self.effective_port = int(self._server.bind_addr[1])

    def run(self) -> None:
        self._server.serve()

    def close(self) -> None:
        self._server.stop()


def _tls_server(application: Any, address: tuple[str, int], threads: int, files: tuple[Path, Path]) -> Any:
    try:
        from cheroot.ssl.builtin import BuiltinSSLAdapter
        from cheroot.wsgi import Server
    except ImportError:
        raise wrong(
            "--certificate",
            "the server that speaks TLS, installed",
            "not there",
            'install the program with its extra "tls", or leave the certificate out',
        ) from None
    server = Server(address, application, numthreads=threads)
    server.ssl_adapter = BuiltinSSLAdapter(*(str(file) for file in files))
    server.ssl_adapter.context.minimum_version = ssl.TLSVersion.TLSv1_2
    return server


def check_certificate(certificate: Path | None, key: Path | None) -> tuple[Path, Path] | None:
    """Both files, read once so that a wrong one is told before the server starts. Raises InputError."""
    if certificate is None and key is None:
        return None
    if certificate is None or key is None:
        raise wrong("--certificate and --key", "both", "one of them", "give the certificate and its key")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=_no_password)
    except (OSError, ValueError) as error:
        raise wrong(
            "--certificate and --key",
            "a certificate and its unencrypted key as PEM files",
            getattr(error, "strerror", None) or error,
            "look at both files; the guide shows how to make them",
        ) from None
    return certificate, key


def _no_password() -> str:
    raise ValueError("the key is encrypted")


def allowed(given: Sequence[str]) -> tuple[str, ...]:
    """Every name and address the pages may be asked for by; any other host header is refused."""
    return tuple(dict.fromkeys([*(check_name(name) for name in given), *names(), *addresses()]))
