"""An adult signs in by e-mail address and password."""

from __future__ import annotations

import pytest
from django.contrib.auth import SESSION_KEY
from django.urls import reverse

from accounts.models import SignInFailure
from accounts.services import people, sign_in
from accounts.services.sign_in import NO_SUCH_ADULT
from tests.accounts.conftest import PASSWORD, PIN, same_page, text_of

SIGN_IN = "/sign-in/"
RIGHT = {"email": "edda@tarnlow.example", "password": PASSWORD}


@pytest.fixture(autouse=True)
def account(known_teacher):
    return known_teacher


def fail(client, times, **change):
    for _ in range(times):
        assert client.post(SIGN_IN, RIGHT | {"password": "wrong"} | change).status_code == 400


def test_right_details_open_the_door(client, account):
    answer = client.post(SIGN_IN, RIGHT)
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert int(client.session[SESSION_KEY]) == account.pk


@pytest.mark.parametrize("email", ["EDDA@TARNLOW.EXAMPLE", " edda@tarnlow.example ", "Edda@Tarnlow.example"])
def test_the_address_counts_in_any_case(client, email):
    assert client.post(SIGN_IN, RIGHT | {"email": email}).status_code == 302


@pytest.mark.parametrize(
    "change",
    [
        {"password": "wrong"},
        {"password": PASSWORD + " "},
        {"password": PASSWORD.upper()},
        {"email": "nobody@tarnlow.example"},
        {"email": "not an address"},
        {"email": "' or 1=1 --"},
    ],
)
def test_one_sentence_whatever_is_wrong(client, change):
    answer = client.post(SIGN_IN, RIGHT | change)
    assert answer.status_code == 400
    assert NO_SUCH_ADULT == "That e-mail address and password do not match an account."
    assert text_of(answer).count(NO_SUCH_ADULT) == 1
    assert SESSION_KEY not in client.session


def test_unknown_address_and_wrong_password_read_alike(client):
    unknown = client.post(SIGN_IN, RIGHT | {"email": "nobody@tarnlow.example"})
    wrong = client.post(SIGN_IN, RIGHT | {"password": "wrong"})
    assert same_page(unknown, "nobody@tarnlow.example") == same_page(wrong, RIGHT["email"])


def test_as_much_work_for_an_unknown_address(client, monkeypatch):
    """One hash, whether there is an account to compare with or not."""
    hashed = []
    monkeypatch.setattr(sign_in, "make_password", lambda password: hashed.append("made"))
    client.post(SIGN_IN, RIGHT | {"email": "nobody@tarnlow.example"})
    assert hashed == ["made"]
    client.post(SIGN_IN, RIGHT | {"password": "wrong"})
    assert hashed == ["made"]


def test_the_address_stays_and_the_password_goes(client):
    page = client.post(SIGN_IN, RIGHT | {"password": "wrong word"}).content.decode()
    assert 'value="edda@tarnlow.example"' in page
    assert "wrong word" not in page


def test_password_managers_are_welcome(client):
    page = client.get(SIGN_IN).content.decode()
    assert 'autocomplete="username"' in page
    assert 'autocomplete="current-password"' in page


def test_disabled_adult_reads_the_same_sentence(client, account, administrator):
    people.disable(user=account, by=administrator)
    answer = client.post(SIGN_IN, RIGHT)
    assert answer.status_code == 400
    assert NO_SUCH_ADULT in text_of(answer)


def test_invited_adult_without_a_password_cannot_come_in(client, head):
    for password in ("", "!", "None"):
        fields = {"email": head.email, "password": password}
        assert client.post(SIGN_IN, fields).status_code == 400


def test_a_pupil_cannot_come_in_by_this_door(client, card):
    for email in ("", "Fenna", card.school_class.code):
        assert client.post(SIGN_IN, {"email": email, "password": PIN}).status_code == 400
    assert SESSION_KEY not in client.session


def test_ten_failures_lock_the_account(client, clock):
    fail(client, 10)
    answer = client.post(SIGN_IN, RIGHT)
    assert answer.status_code == 429
    assert answer["Retry-After"] == "900"
    says = "Too many tries did not match. Wait until 10:15, or ask your administrator to let you in."
    assert says in text_of(answer)


def test_nine_failures_do_not(client, clock):
    fail(client, 9)
    assert client.post(SIGN_IN, RIGHT).status_code == 302


def test_the_lock_opens_by_itself(client, clock):
    fail(client, 10)
    clock.forward(minutes=15)
    assert client.post(SIGN_IN, RIGHT).status_code == 302


def test_an_unknown_address_is_locked_alike(client, clock):
    """Otherwise the lock would tell which addresses have an account."""
    fail(client, 10, email="nobody@tarnlow.example")
    unknown = client.post(SIGN_IN, RIGHT | {"email": "Nobody@tarnlow.example"})
    fail(client, 10)
    known = client.post(SIGN_IN, RIGHT)
    assert unknown.status_code == known.status_code == 429
    assert same_page(unknown, "Nobody@tarnlow.example") == same_page(known, RIGHT["email"])


def test_a_lock_leaves_others_alone(client, clock, other_teacher):
    other_teacher.set_password(PASSWORD)
    other_teacher.save()
    fail(client, 10)
    assert client.post(SIGN_IN, {"email": other_teacher.email, "password": PASSWORD}).status_code == 302


def test_a_lock_never_touches_whoever_is_signed_in(client, client_of, account, clock):
    browser = client_of(account)
    fail(client, 10)
    assert browser.get("/classes/").status_code == 200


def test_the_administrator_lifts_the_lock(client, client_of, account, administrator, clock):
    fail(client, 10)
    browser = client_of(administrator)
    edit = reverse("accounts:staff_edit", args=[account.pk])
    assert "this account is locked until 10:15" in text_of(browser.get(edit))
    assert "Locked until 10:15" in text_of(browser.get(reverse("accounts:staff")))
    answer = browser.post(reverse("accounts:staff_lift_lock", args=[account.pk]), follow=True)
    assert "Edda Marlin can try again now." in text_of(answer)
    assert client.post(SIGN_IN, RIGHT).status_code == 302


def test_a_failure_keeps_no_address(client, clock):
    fail(client, 1, email="somebody@home.example")
    [row] = SignInFailure.objects.values()
    assert "somebody@home.example" not in map(str, row.values())


def test_the_page_asked_for_comes_after_signing_in(client):
    asked = client.get("/classes/?archived=1")
    answer = client.post(asked["Location"], RIGHT)
    assert answer["Location"] == "/classes/?archived=1"


@pytest.mark.parametrize("elsewhere", ["//other.example/", "https://other.example/", "javascript:alert(1)"])
def test_no_other_site_is_gone_to(client, elsewhere):
    assert client.post(SIGN_IN, RIGHT, query_params={"next": elsewhere})["Location"] == "/"


@pytest.mark.parametrize("field", ["email", "password"])
@pytest.mark.parametrize("typed", ["", "\x00", "x" * 5000])
def test_nonsense_is_a_form_error(client, field, typed):
    assert client.post(SIGN_IN, RIGHT | {field: typed}).status_code == 400


def test_a_long_password_of_any_characters_is_taken(client, account):
    password = "§ paper \N{OWL} 折 " * 15
    account.set_password(password)
    account.save()
    assert client.post(SIGN_IN, RIGHT | {"password": password}).status_code == 302
