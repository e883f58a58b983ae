"""The least of a browser that a simulated pupil needs: one connection kept open, cookies, forms with their token."""

from __future__ import annotations

import http.client
import re
from dataclasses import dataclass, field
from typing import NamedTuple
from urllib.parse import urlencode, urlsplit

TOKEN = re.compile(r'csrfmiddlewaretoken" value="([^"]+)"')
LOST = (OSError, http.client.HTTPException)  # what a cut line or a dead server looks like from here


class Reply(NamedTuple):
    status: int
    location: str
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()


@dataclass
class Browser:
    """Asks ``address``; whatever goes wrong on the line is one of ``LOST``, and the next request opens a new one."""

    address: str
    patience: float = 10.0
    cookies: dict[str, str] = field(default_factory=dict)
    token: str = ""
    headers: dict[str, str] = field(default_factory=dict)  # what a proxy in between would add
    _line: http.client.HTTPConnection | None = None

    def get(self, path: str) -> Reply:
        reply = self._ask("GET", path, None)
        if found := TOKEN.search(reply.text):
            self.token = found[1]
        return reply

    def post(self, path: str, form: dict[str, object]) -> Reply:
        return self._ask("POST", path, urlencode({"csrfmiddlewaretoken": self.token, **form}))

    def close(self) -> None:
        if self._line is not None:
            self._line.close()
            self._line = None

    def _ask(self, method: str, path: str, body: str | None) -> Reply:
        if self._line is None:
            self._line = http.client.HTTPConnection(urlsplit(self.address).netloc, timeout=self.patience)
        headers = self.headers | {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            self._line.request(method, path, body, headers)
            answer = self._line.getresponse()
            reply = Reply(answer.status, answer.getheader("Location", ""), answer.read())
        except LOST:
            self.close()
            raise
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = cookie.split(";")[0].partition("=")
            self.cookies[name.strip()] = value
        return reply
