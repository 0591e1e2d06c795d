"""The server of the demo: one process, a few threads, and what may go wrong with its address."""

from __future__ import annotations

import contextlib
import errno
import os
import socket
import threading
import time
from collections.abc import Callable
from ipaddress import ip_address
from typing import Final

from django.conf import settings
from django.db import connections
from granian.constants import Interfaces
from granian.log import LogLevels
from granian.server import Server

# One writes, the other reads: SQLite lets those who wait to write sleep and look again, in no order, so that with
# three the unluckiest of eight tablets waited 13 times as long as usual, with two 2.5 times (`manage.py bench`).
THREADS: Final = 2
_MOST_PORTS: Final = 65535
_LOOPBACK: Final = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - an address to look for, not to serve at
_POLL_SECONDS: Final = 0.05
_PATIENCE_SECONDS: Final = 60


class AddressError(ValueError):
    """Nobody can be served at that address; the message is a sentence."""


def checked_address(host: str, port: int) -> str:
    """Return the IP address of a host at which this machine can be served on that port; raises AddressError."""
    if not 0 < port <= _MOST_PORTS:
        raise AddressError(f"A port is a number from 1 to {_MOST_PORTS}, not {port}.")
    try:
        family, _, _, _, found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(found)
    except OSError as error:
        raise AddressError(_why_not(host, port, error)) from error
    return str(found[0])


def _why_not(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken by another program: choose another one, such as --port {port + 1}."
    if error.errno in {errno.EACCES, errno.EPERM}:
        return f"This account may not serve on port {port}: choose one above 1023, such as --port 8000."
    return f"This machine cannot be served at {host}: --host takes 127.0.0.1, 0.0.0.0 or an address of its own."


def is_loopback(address: str) -> bool:
    """Whether only this machine reaches the address."""
    return ip_address(address).is_loopback


def names_for(host: str, address: str) -> list[str]:
    """Return the names by which pages may be asked for when serving at an address, the most useful one first."""
    if ip_address(address).is_unspecified:
        name = socket.gethostname()
        return list(dict.fromkeys([*_own_addresses(), name, f"{name}.local"]))
    return list(dict.fromkeys([_in_url(host), _in_url(address)]))


def url_of(name: str, port: int) -> str:
    """Return the address to type into a browser."""
    return f"http://{_in_url(name)}:{port}/"


def _in_url(host: str) -> str:
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def _own_addresses() -> list[str]:
    """Return the address that the network knows this machine by; no packet is sent to find out."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # TEST-NET-1 of RFC 5737: nobody is there
        return [str(probe.getsockname()[0])]
    return []


def allow_names(names: list[str]) -> None:
    """Let pages be asked for by these names, in this process and in those that it starts."""
    allowed = list(dict.fromkeys([*settings.ALLOWED_HOSTS, *names]))
    settings.ALLOWED_HOSTS = allowed
    os.environ["GYMTRACK_HOSTS"] = ",".join(allowed)


def serve(address: str, port: int, *, announce: Callable[[], None]) -> None:
    """Serve until SIGINT or SIGTERM; `announce` is called once somebody answers at the address."""
    connections.close_all()  # a connection must not be shared with the process that serves
    server = Server(
        "gymtrack.wsgi:application",
        address=address,
        port=port,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=THREADS,
        websockets=False,
        log_level=LogLevels.warning,
    )
    waiting = threading.Thread(target=_when_answered, args=(address, port, announce), daemon=True)
    server.on_startup(waiting.start)
    server.serve()


def _when_answered(address: str, port: int, announce: Callable[[], None]) -> None:
    """Call `announce` as soon as a connection is taken; the server itself does not tell."""
    reached = _LOOPBACK.get(address, address)  # serving everywhere is serving here too
    for _ in range(int(_PATIENCE_SECONDS / _POLL_SECONDS)):
        time.sleep(_POLL_SECONDS)
        with contextlib.suppress(OSError), socket.create_connection((reached, port), timeout=1):
            return announce()
    return None
