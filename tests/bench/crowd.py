"""Many browsers in one thread: keep-alive connections that send ready requests and time the replies."""

from __future__ import annotations

import selectors
import socket
import time
from collections.abc import Callable
from urllib.parse import urlsplit

HEAD = b"\r\n\r\n"
Request = Callable[[int], bytes]  # the next request of the browser with this number


class Browser:
    def __init__(self, number: int, address: str) -> None:
        where = urlsplit(address)
        self.number = number
        self.line = socket.create_connection((where.hostname, where.port), timeout=30)
        self.line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.got, self.wanted, self.sent_at = b"", 0, 0.0

    def send(self, request: bytes) -> None:
        self.got, self.wanted, self.sent_at = b"", 0, time.perf_counter()
        self.line.sendall(request)

    def receive(self) -> int:
        """Read what has come; return the status once the reply is whole, else 0."""
        piece = self.line.recv(1 << 18)
        assert piece, "the server closed the line"
        self.got += piece
        if not self.wanted and HEAD in self.got:
            head = self.got[: self.got.index(HEAD)].lower()
            length = int(head.split(b"content-length:")[1].split(b"\r\n")[0])
            self.wanted = len(head) + len(HEAD) + length
        return int(self.got[9:12]) if self.wanted and len(self.got) >= self.wanted else 0


class Crowd:
    """``size`` browsers at one address."""

    def __init__(self, address: str, size: int) -> None:
        self.browsers = [Browser(number, address) for number in range(size)]
        self.watch = selectors.DefaultSelector()
        for browser in self.browsers:
            self.watch.register(browser.line, selectors.EVENT_READ, browser)

    def ask(self, request: Request, seconds: float = 0.0) -> tuple[list[float], float]:
        """Each sends, and again on each reply until the time is over (0: once); return each time taken, and all."""
        taken, waiting, began = [], len(self.browsers), time.perf_counter()
        for browser in self.browsers:
            browser.send(request(browser.number))
        while waiting:
            for key, _ in self.watch.select(30):
                browser = key.data
                status = browser.receive()
                if not status:
                    continue
                assert status == 200, browser.got[:600]
                now = time.perf_counter()
                taken.append(now - browser.sent_at)
                if now - began < seconds:
                    browser.send(request(browser.number))
                else:
                    waiting -= 1
        return taken, time.perf_counter() - began

    def close(self) -> None:
        for browser in self.browsers:
            browser.line.close()
