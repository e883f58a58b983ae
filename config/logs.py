"""Logs that name no child: no addresses with numbers or tokens in them, no words out of the database.

What Django logs of a request holds its path, which may carry a pupil's number or an invitation's token.
What an exception says may quote a row ("Key (name)=(...) already exists"). Both are left out here.
"""

from __future__ import annotations

import logging
import time
import traceback

from django.conf import settings
from django.http import HttpRequest


def route_of(request: HttpRequest) -> str:
    """The pattern of the page asked for, as ``classes/<int:pk>/``: it holds no name, number or token."""
    if request.resolver_match:
        return "/" + request.resolver_match.route
    return "(a static file)" if request.path.startswith(settings.STATIC_URL) else "(no such page)"


class NoPersonalData(logging.Filter):
    """Rewrite what is logged of a request: its page's pattern and its reference instead of its path."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if isinstance(request, HttpRequest):
            record.msg = "%s %s answered %s, reference %s"
            status = getattr(record, "status_code", "-")
            reference = getattr(request, "reference", "-")
            record.args = (request.method, route_of(request), status, reference)
        return True


class SlowOnly(logging.Filter):
    """Let through what took long, of the statements that Django logs while developing."""

    def __init__(self, ms: int) -> None:
        super().__init__()
        self.ms = ms

    def filter(self, record: logging.LogRecord) -> bool:
        return 1000 * getattr(record, "duration", 0.0) >= self.ms


class Line(logging.Formatter):
    """One line a record, times in UTC; below it, for an exception, where it arose and its kind."""

    converter = staticmethod(time.gmtime)

    def __init__(self) -> None:
        super().__init__("%(asctime)sZ %(levelname)s %(name)s %(message)s", "%Y-%m-%dT%H:%M:%S")

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        return super().formatMessage(record).replace("\r", "\\r").replace("\n", "\\n")

    def formatException(self, ei) -> str:  # noqa: N802
        kind, error, trace = ei
        places = "".join(traceback.format_tb(trace)).rstrip()
        cause = error and (error.__cause__ or error.__context__)
        return f"{places}\n{kind.__name__}" + (f", after {type(cause).__name__}" if cause else "")
