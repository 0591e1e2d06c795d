"""What really goes over the wire: a relay before a server that keeps every byte that comes from the browser."""

import socket
import threading
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from urllib.parse import quote_from_bytes, urlsplit

_PIECE = 65_536


class Wire:
    """A port of its own in front of a site; `sent` is all that came in so far, of all connections."""

    def __init__(self, site: str) -> None:
        target = urlsplit(site)
        self._target = ("127.0.0.1", target.port)
        self._lock = threading.Lock()
        self._sent = bytearray()
        self._door = socket.create_server(("127.0.0.1", 0))
        self._open: list[socket.socket] = [self._door]
        self.url = f"http://{target.hostname}:{self._door.getsockname()[1]}"

    @property
    def sent(self) -> bytes:
        with self._lock:
            return bytes(self._sent)

    def carries(self, words: bytes, since: int = 0) -> bool:
        """Whether these bytes went out as they are, as base64 wherever they begin in it, or with per cent signs."""
        sent = self.sent[since:]
        return any(form in sent for form in (words, quote_from_bytes(words).encode(), *_base64_forms(words)))

    def serve(self) -> None:
        with suppress(OSError):  # closed: that is how it ends
            while True:
                near, _ = self._door.accept()
                far = socket.create_connection(self._target)
                self._open += [near, far]
                threading.Thread(target=self._pass, args=(near, far, True), daemon=True).start()
                threading.Thread(target=self._pass, args=(far, near, False), daemon=True).start()

    def _pass(self, source: socket.socket, goal: socket.socket, is_kept: bool) -> None:  # noqa: FBT001 (a thread's)
        with suppress(OSError):
            while piece := source.recv(_PIECE):
                if is_kept:
                    with self._lock:
                        self._sent += piece
                goal.sendall(piece)
        with suppress(OSError):
            goal.shutdown(socket.SHUT_WR)

    def close(self) -> None:
        for one in self._open:
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()


def _base64_forms(words: bytes) -> Iterator[bytes]:
    """The middle of what base64 makes of the bytes, for each of the three places at which they may begin."""
    for before in range(3):
        coded = b64encode(b"\0" * before + words)
        yield coded[4 : len(coded) // 4 * 4 - 4]


@contextmanager
def wire_before(site: str) -> Iterator[Wire]:
    """Open a relay before the site for as long as the block lasts."""
    wire = Wire(site)
    thread = threading.Thread(target=wire.serve, daemon=True)
    thread.start()
    try:
        yield wire
    finally:
        wire.close()
        thread.join(5)
