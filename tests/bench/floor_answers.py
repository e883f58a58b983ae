"""The floor that the answer path is measured against: one answer kept without a framework, as a WSGI application.

It does what cannot be left out: reads the body, finds the session by its cookie, inserts one row under a unique key
and commits it, then replies. No form, no rule, no lock, no order, no clock. ``/page/`` gives a constant page.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from urllib.parse import parse_qs

URL = os.environ["DATABASE_URL"]
PAGE = b"x" * int(os.environ.get("PAGE_BYTES", "15000"))
MAKE = "CREATE TABLE IF NOT EXISTS floor_answer (client_id text PRIMARY KEY, sitting int, question int, option text)"
here = threading.local()

if URL.startswith("postgres"):
    from psycopg_pool import ConnectionPool

    pool = ConnectionPool(URL, min_size=4, max_size=4, open=True, kwargs={"autocommit": True})
    with pool.connection() as line:
        line.execute(MAKE)

    def keep(key: str, row: tuple) -> bool:
        with pool.connection() as line:
            found = line.execute("SELECT session_data FROM django_session WHERE session_key = %s", (key,)).fetchone()
            line.execute("INSERT INTO floor_answer VALUES (%s, %s, %s, %s) ON CONFLICT DO NOTHING", row)
        return found is not None
else:

    def connection() -> sqlite3.Connection:
        if not hasattr(here, "line"):
            here.line = sqlite3.connect(URL.removeprefix("sqlite://"), isolation_level=None, timeout=20)
            here.line.execute("PRAGMA synchronous=FULL")
            here.line.execute(MAKE)
        return here.line

    def keep(key: str, row: tuple) -> bool:
        line = connection()
        found = line.execute("SELECT session_data FROM django_session WHERE session_key = ?", (key,)).fetchone()
        line.execute("INSERT INTO floor_answer VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING", row)
        return found is not None


def application(environ, start_response):
    if environ["PATH_INFO"] == "/page/":
        return reply(start_response, "200 OK", PAGE)
    if environ["PATH_INFO"] == "/health/":
        return reply(start_response, "200 OK", b"{}")
    cookies = dict(part.strip().split("=", 1) for part in environ["HTTP_COOKIE"].split(";"))
    form = parse_qs(environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"])).decode())
    row = (form["client_id"][0], 1, int(form["question"][0]), form["option"][0])
    known = keep(cookies["__Host-session"], row)
    return reply(start_response, "200 OK" if known else "403 Forbidden", b'{"saved": true}')


def reply(start_response, status: str, body: bytes):
    start_response(status, [("Content-Type", "application/json"), ("Content-Length", str(len(body)))])
    return [body]
