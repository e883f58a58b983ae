"""Bad input thrown at every address, by whoever may go furthest there: a sentence or a refusal, never a fault (500).

Addresses come from the table of permissions, names of fields from the forms of the pages themselves. What is thrown
where is drawn by lot from a seed, so that each run throws the same.
"""

from __future__ import annotations

import re
from collections import defaultdict
from random import Random

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.forms import Form
from django.test import Client

from tests.permission_table import ROLES, Line, lines
from tests.permission_world import address, signed_in
from tests.sites import ROOT

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
BAD = [
    "",
    " ",
    "\x00",
    "a\x00b",
    "-1",
    "0",
    "9" * 400,
    "1e5000000",
    "NaN",
    "1/0",
    "٣",
    "2026-02-30",
    "0001-01-01T00:00",
    "9999-12-31T23:59",
    "{",
    "[]",
    "[" * 2000,
    '{"version": 2}',
    "../../etc/passwd",
    "<script>alert(1)</script>",
    "=1+1",
    "\u202e\ud83d\ude00".encode("utf-16", "surrogatepass").decode("utf-16"),
    "x" * 5000,
    "'; DROP TABLE accounts_user; --",
    "%s%n",
    "e\u0301",
]
FILES = [b"", b"\x00\xff\xfe", b"PK\x03\x04broken", b"name\r\n" + b"x," * 500, '"open quote\nand on'.encode("utf-16")]
BODIES = [
    ("application/x-www-form-urlencoded", b"\xff=\xfe&a=%00&b=%ED%A0%80"),
    ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data; name="),
    ("multipart/form-data", b"no boundary"),
    ("application/json", b'{"a": ' + b"[" * 3000),
    ("application/x-www-form-urlencoded", b"&".join(b"f%d=1" % n for n in range(1500))),
]
NAMES = re.compile(r'<(?:input|select|textarea|button)[^>]*?\bname="([^"]+)"')
KEPT = {"csrfmiddlewaretoken"}


def furthest(line: Line, words: tuple[str, ...]) -> str:
    """The role that gets furthest at this address."""
    order = ("ok", "go", "400", "409", "404", "405", "403", "401", "in")
    return min(zip(ROLES, words, strict=True), key=lambda pair: order.index(pair[1]) if pair[1] in order else 3)[0]


def throw(client: Client, method: str, path: str, **sent: object) -> int:
    """Ask, and undo what was done; the status."""
    with transaction.atomic():
        status = getattr(client, method)(path, **sent).status_code
        transaction.set_rollback(True)
    return status


def fields() -> set[str]:
    """The names of all fields of all forms, in templates and in form classes."""
    import config.urls  # noqa: F401  (whose views bring all forms with them)

    found = {name for page in (ROOT / "templates").rglob("*.html") for name in NAMES.findall(page.read_text())}
    kinds = [*Form.__subclasses__()]
    while kinds:
        kind = kinds.pop()
        kinds += kind.__subclasses__()
        found |= set(kind.base_fields)
    return {name for name in found if "{" not in name} - KEPT


def test_no_address_breaks_whatever_is_thrown_at_it(world):
    lot, broken = Random(20_260_514), defaultdict(list)
    names = sorted(fields())
    assert len(names) > 60
    for line in lines():
        path = address(line, world)
        for method, words in (("get", line.get), ("post", line.post)):
            client = signed_in(furthest(line, words), world, raise_request_exception=False)
            for sent in drawn(lot, method, names):
                if throw(client, method, path, **sent) >= 500:
                    broken[f"{method} {line.route}"].append(str(sent)[:300])
    assert dict(broken) == {}


def drawn(lot: Random, method: str, names: list[str]) -> list[dict]:
    """What is thrown at one address: every field with bad values, or with the same one, or a body that is no form."""
    values = {name: lot.choice(BAD) for name in names}
    if method == "get":
        return [{"data": values | {"page": lot.choice(BAD), "next": "//other.example", "sort": "password"}}]
    same = dict.fromkeys(names, lot.choice(BAD))
    files = {name: SimpleUploadedFile("a/../b.csv", lot.choice(FILES)) for name in names if "file" in name}
    kind, body = lot.choice(BODIES)
    return [lot.choice([{"data": values | files}, {"data": same}, {"data": body, "content_type": kind}])]


PLACES = {"int": ("0", "9223372036854775808", "9" * 60), "str": ("%00", "a%00b", "x" * 3000, "%FF", "%ED%A0%80")}


def test_no_number_or_word_in_an_address_breaks_it(world):
    lot, broken = Random(20_260_515), []
    for line in lines():
        kinds = re.findall(r"<(\w+):", line.route)
        for _ in kinds[:1]:
            values = iter([lot.choice(PLACES.get(kind, PLACES["str"])) for kind in kinds])
            path = re.sub("<[^>]+>", lambda _, values=values: next(values), line.route)
            for method, words in (("get", line.get), ("post", line.post)):
                client = signed_in(furthest(line, words), world, raise_request_exception=False)
                if throw(client, method, path) >= 500:
                    broken.append(f"{method} {path[:80]}")
    assert broken == []
