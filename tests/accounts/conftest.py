"""What the tests of people need besides the cast: a clock, a pupil's card, and ways to sign in."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from accounts import codes, pins
from accounts.models import SchoolClass, User
from accounts.services.second_factor import set_factor

PASSWORD = "seven calm herons wade"
PIN = "482916"
KEY = b"12345678901234567890"  # of a second factor: the shared secret of RFC 6238, appendix B
NOW = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)


class Clock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.time = NOW

    def __call__(self) -> datetime:
        return self.time

    def forward(self, **how_long: float) -> datetime:
        self.time += timedelta(**how_long)
        return self.time


@pytest.fixture(autouse=True)
def quick_pins(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same kind of hash with the least work; test_pins.py measures the real one."""
    monkeypatch.setattr(pins.PinHasher, "time_cost", 1)
    monkeypatch.setattr(pins.PinHasher, "memory_cost", 8)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr("django.utils.timezone.now", clock)
    return clock


@dataclass(frozen=True)
class KnownCard:
    """A card whose PIN the test knows."""

    pupil: User
    school_class: SchoolClass

    def fields(self, **other: str) -> dict[str, str]:
        return {"code": self.school_class.code, "name": self.pupil.name, "pin": PIN} | other


@pytest.fixture
def card(pupil: User, school_class: SchoolClass) -> KnownCard:
    give_pin(pupil)
    return KnownCard(pupil, school_class)


@pytest.fixture
def known_teacher(teacher: User) -> User:
    """The teacher, with a password the test knows."""
    teacher.set_password(PASSWORD)
    teacher.save()
    return teacher


@pytest.fixture
def chief(administrator: User) -> User:
    """The administrator, with a password that the test knows."""
    administrator.set_password(PASSWORD)
    administrator.save()
    return administrator


@pytest.fixture
def recovery(chief: User) -> list[str]:
    """The recovery codes of the administrator, whose second factor was set up an hour ago."""
    at = NOW - timedelta(hours=1)
    return set_factor(user=chief, key=KEY, code=code_at(at), at=at)


@pytest.fixture
def try_card(client: Client) -> Callable[..., int]:
    """``try_card(fields)``: the status of the answer to these details typed on the pupils' page."""

    def send(fields: dict[str, str]) -> int:
        return client.post(reverse("accounts:pupil_sign_in"), fields).status_code

    return send


def code_at(at: datetime, key: bytes = KEY) -> str:
    """What a code generator with this key shows."""
    return f"{codes.generator_at(key, at).token():06}"


def wrong_at(at: datetime) -> str:
    """A code that is not right for any step near this time."""
    right = {code_at(at + timedelta(seconds=30 * drift)) for drift in (-2, -1, 0, 1, 2)}
    return next(code for code in ("000000", "111111", "222222", "333333", "444444", "555555") if code not in right)


def give_pin(pupil: User, pin: str = PIN) -> None:
    pupil.password = pins.hash_pin(pin)
    pupil.save()


def is_signed_in(client: Client) -> bool:
    """Whether the browser may see a page that asks for someone signed in."""
    answer = client.get(reverse("accounts:classes"))
    return answer.status_code in (200, 403)


def same_page(answer: HttpResponse, *typed: str) -> str:
    """A page without what differs from one request to the next: tokens, and the words typed."""
    page = re.sub(r"[A-Za-z0-9]{64}", "", answer.content.decode())
    for words in typed:
        page = page.replace(f'value="{words}"', "")
    return page


def text_of(answer: HttpResponse) -> str:
    """The words of a page as they are read: without tags, entities resolved, single spaces."""
    body = answer.content.decode()
    body = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", body, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())
