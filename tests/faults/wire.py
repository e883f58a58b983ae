"""A small TCP proxy between pupils and server: it can keep replies back, or cut all lines."""

from __future__ import annotations

import socket
from contextlib import suppress
from threading import Lock, Thread

PIECE = 65536


class Wire:
    """Listens on ``port`` and passes bytes to ``to`` (host, port). While ``is_deaf``, no reply comes back."""

    def __init__(self, to: tuple[str, int]) -> None:
        self.to, self.is_deaf, self.is_cut = to, False, False
        self._ears = socket.create_server(("127.0.0.1", 0), backlog=512)
        self.port: int = self._ears.getsockname()[1]
        self._lines: set[socket.socket] = set()
        self._lock = Lock()
        Thread(target=self._listen, daemon=True).start()

    def cut_all(self) -> None:
        """Drop every line that is open now, whatever is under way on it."""
        with self._lock:
            lines, self._lines = self._lines, set()
        for line in lines:
            _drop(line)

    def close(self) -> None:
        self.is_cut = True
        self._ears.close()
        self.cut_all()

    def _listen(self) -> None:
        while not self.is_cut:
            try:
                caller, _ = self._ears.accept()
            except OSError:
                return
            try:
                server = socket.create_connection(self.to, timeout=5)
            except OSError:
                _drop(caller)
                continue
            server.settimeout(None)
            with self._lock:
                self._lines |= {caller, server}
            Thread(target=self._carry, args=(caller, server, False), daemon=True).start()
            Thread(target=self._carry, args=(server, caller, True), daemon=True).start()

    def _carry(self, here: socket.socket, there: socket.socket, is_reply: bool) -> None:
        with suppress(OSError):
            while piece := here.recv(PIECE):
                if is_reply and self.is_deaf:
                    break  # the server has answered; the pupil does not hear it
                there.sendall(piece)
        _drop(here)
        _drop(there)
        with self._lock:
            self._lines -= {here, there}


def _drop(line: socket.socket) -> None:
    with suppress(OSError):
        line.shutdown(socket.SHUT_RDWR)
    line.close()
