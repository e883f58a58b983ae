"""What is answered at once bears and obeys all that the rest of the stack sees to (``config.short_way``)."""

from __future__ import annotations

import re
from typing import Any
from unittest.mock import Mock
from uuid import uuid4

import pytest
from django.db import OperationalError
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import SchoolClass, User
from assignments.models import Event, Sitting
from assignments.papers import option_names, place_numbered
from assignments.services import at_once
from assignments.views import sitting as views
from config.logs import Line
from tests.assignments.factories import make_assignment

pytestmark = pytest.mark.django_db
OURS = {"secure": True, "headers": {"Origin": "https://testserver"}}
DIFFERING = (
    "X-Request-Id",
    "Content-Length",
    "Set-Cookie",
)  # from one request to the next; a cookie that is there stays


@pytest.fixture(autouse=True)
def strict_site(settings) -> None:
    settings.SECURE_HSTS_SECONDS = 60


@pytest.fixture
def tablet(pupil: User) -> Client:
    client = Client(enforce_csrf_checks=True)
    client.force_login(pupil)
    return client


@pytest.fixture
def sitting(tablet: Client, school_class: SchoolClass) -> Sitting:
    now = timezone.now()
    hour = timezone.timedelta(hours=1)
    assignment = make_assignment(school_class, opens_at=now - hour, closes_at=now + hour)
    page = tablet.get(reverse("assignments:start", args=[assignment.pk]), secure=True).content.decode()
    tablet.post(reverse("assignments:start", args=[assignment.pk]), {"csrfmiddlewaretoken": token_on(page)}, **OURS)
    return Sitting.objects.get()


def token_on(page: str) -> str:
    return re.search(r'csrfmiddlewaretoken" value="(\w+)"', page)[1]


def show(client: Client, sitting: Sitting, **more: Any) -> HttpResponse:
    return client.get(reverse("assignments:sitting", args=[sitting.pk, 1]), **({"secure": True} | more))


def send(client: Client, sitting: Sitting, token: str, seq: int = 1, **more: Any) -> HttpResponse:
    option = option_names(sitting.pk, place_numbered(sitting.paper, 1))[1]
    sent = {"question": 1, "kind": "choose", "option": option, "client_id": str(uuid4()), "epoch": 1, "seq": seq}
    more = OURS | more
    more["headers"] = {"X-CSRFToken": token} | more["headers"]
    return client.post(reverse("assignments:answer", args=[sitting.pk]), sent, **more)


@pytest.fixture
def shut(monkeypatch):
    def shut() -> None:
        for view in (views.answer, views.question):
            monkeypatch.setattr(view, "at_once", lambda *_, **__: None)

    return shut


def borne_by(response: HttpResponse) -> dict[str, str]:
    assert re.fullmatch("[0-9a-f]{12}", response["X-Request-Id"])
    assert int(response["Content-Length"]) == len(response.content)
    return {name: value for name, value in response.headers.items() if name not in DIFFERING}


@pytest.mark.parametrize("scheme", ["https", "http"])
def test_what_is_answered_at_once_bears_the_headers_of_every_page(tablet, sitting, shut, scheme) -> None:
    token = token_on(show(tablet, sitting).content.decode())
    by = {"secure": scheme == "https", "headers": {"Origin": f"{scheme}://testserver"}}
    at_once = [show(tablet, sitting, **by), send(tablet, sitting, token, **by)]
    assert ("Strict-Transport-Security" in at_once[0]) == (scheme == "https")
    shut()
    with_care = [show(tablet, sitting, **by), send(tablet, sitting, token, seq=2, **by)]
    assert [response.status_code for response in at_once + with_care] == [200] * 4
    assert [borne_by(response) for response in at_once] == [borne_by(response) for response in with_care]


def test_the_token_of_a_page_filled_in_is_good_and_never_the_same_twice(tablet, sitting) -> None:
    tokens = {token_on(show(tablet, sitting).content.decode()) for _ in range(4)}
    assert len(tokens) == 4
    assert [send(tablet, sitting, token, seq).status_code for seq, token in enumerate(tokens, 1)] == [200] * 4


def test_a_browser_without_the_cookie_of_the_form_is_given_one(tablet, sitting, settings) -> None:
    for cookie in ("", "x"):
        tablet.cookies[settings.CSRF_COOKIE_NAME] = cookie
        page = show(tablet, sitting)
        assert page.cookies[settings.CSRF_COOKIE_NAME].value
        assert send(tablet, sitting, token_on(page.content.decode()), seq=len(cookie) + 1).status_code == 200


FORGED = {
    "another site's": {"headers": {"Origin": "https://elsewhere.example"}},
    "nobody's": {"headers": {"X-CSRFToken": ""}},
    "by chance": {"headers": {"X-CSRFToken": "b" * 64, "Origin": "https://testserver"}},
    "to another host": {"headers": {"Host": "elsewhere.example"}},
}


@pytest.mark.parametrize("forged", FORGED.values(), ids=FORGED)
def test_what_is_forged_is_refused_in_words_and_kept_nowhere(tablet, sitting, forged, caplog) -> None:
    token = token_on(show(tablet, sitting).content.decode())
    assert send(tablet, sitting, token).status_code == 200
    caplog.clear()
    refused = send(tablet, sitting, token, seq=2, **forged)
    assert refused.status_code == (400 if "Host" in forged["headers"] else 403)
    assert "Content-Security-Policy" in refused
    assert len([record for record in caplog.records if record.name.startswith("django.security")]) == 1
    assert Event.objects.count() == 1


def test_where_a_certificate_is_asked_for_nothing_is_answered_without(tablet, sitting, settings) -> None:
    settings.SECURE_SSL_REDIRECT = True
    tablet.handler.load_middleware()
    assert show(tablet, sitting, secure=False)["Location"].startswith("https://")
    assert [show(tablet, sitting).status_code for _ in range(2)] == [200, 200]
    assert show(tablet, sitting, secure=False).status_code == 301


def test_a_fault_on_the_short_way_is_logged_without_data_and_the_whole_way_keeps_the_choice(
    tablet, sitting, monkeypatch, caplog
) -> None:
    token = token_on(show(tablet, sitting).content.decode())
    monkeypatch.setattr(at_once, "keep_at_once", Mock(side_effect=OperationalError("Key (name)=(Fenna)")))
    assert send(tablet, sitting, token).json()["saved"]
    (record,) = [record for record in caplog.records if record.name == "creasemark.short_way"]
    assert "Fenna" not in Line().format(record)
    assert Event.objects.count() == 1
