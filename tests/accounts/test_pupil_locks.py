"""Locks on pupils' sign-in: five failures per pupil in fifteen minutes, thirty per class and hour."""

from __future__ import annotations

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse

from accounts.models import SignInFailure
from tests.accounts.conftest import PIN, give_pin, is_signed_in, same_page, text_of
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.each_database

SIGN_IN = "/pupil/"


def fail(client, card, times, **change):
    for _ in range(times):
        assert client.post(SIGN_IN, card.fields(**({"pin": "000000"} | change))).status_code == 400


def test_five_failures_lock_a_pupil(client, card, clock):
    fail(client, card, 5)
    answer = client.post(SIGN_IN, card.fields())
    assert answer.status_code == 429
    assert SESSION_KEY not in client.session


def test_the_lock_says_how_long_and_who_can_help(client, card, clock):
    fail(client, card, 5)
    answer = client.post(SIGN_IN, card.fields())
    # The school's clock is an hour ahead of UTC in May.
    says = "That did not match a few times. Wait until 10:15, or ask your teacher, who can let you in now."
    assert says in text_of(answer)
    assert answer["Retry-After"] == "900"


def test_four_failures_do_not(client, card, clock):
    fail(client, card, 4)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_the_lock_opens_by_itself(client, card, clock):
    fail(client, card, 5)
    clock.forward(minutes=14, seconds=59)
    assert client.post(SIGN_IN, card.fields()).status_code == 429
    clock.forward(seconds=1)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_failures_spread_out_lock_nobody(client, card, clock):
    for _ in range(20):
        fail(client, card, 1)
        clock.forward(minutes=4)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_the_window_slides(client, card, clock):
    fail(client, card, 3)
    clock.forward(minutes=10)
    fail(client, card, 2)
    assert client.post(SIGN_IN, card.fields()).status_code == 429
    clock.forward(minutes=5)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_tries_under_a_lock_do_not_make_it_longer(client, card, clock):
    fail(client, card, 5)
    for _ in range(30):
        clock.forward(seconds=29)
        assert client.post(SIGN_IN, card.fields()).status_code == 429
    clock.forward(seconds=30)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_a_success_begins_the_count_anew(client, card, clock):
    fail(client, card, 4)
    clock.forward(seconds=1)
    assert client.post(SIGN_IN, card.fields()).status_code == 302
    clock.forward(seconds=1)
    fail(client, card, 4)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_another_pupil_of_the_class_is_not_locked(client, card, clock, school, school_class):
    friend = make_pupil(school, "Ilko")
    enrol(friend, school_class)
    give_pin(friend)
    fail(client, card, 5)
    assert client.post(SIGN_IN, card.fields(name="Ilko")).status_code == 302


def test_a_name_that_is_not_in_the_class_is_locked_alike(client, card, clock):
    """Otherwise the lock would tell which names are in the class."""
    fail(client, card, 5, name="Nobody")
    assert client.post(SIGN_IN, card.fields(name="nobody ")).status_code == 429
    assert client.post(SIGN_IN, card.fields(name="Somebody")).status_code == 400
    assert client.post(SIGN_IN, card.fields()).status_code == 302


@pytest.mark.parametrize("known", [True, False])
def test_ways_of_writing_a_name_are_counted_together_whether_it_is_in_the_class_or_not(
    client, card, clock, school, school_class, known
):
    """Else the lock would tell who is in the class."""
    if known:
        enrol(make_pupil(school, "Zoë O’Hara"), school_class)
    for name in ("Zoë O’Hara", "Zoe O'Hara", "zoe ohara", "Zoe O-Hara", "Zoë Ohara"):
        fail(client, card, 1, name=name)
    assert client.post(SIGN_IN, card.fields(name="Zoe O Hara", pin="000000")).status_code == 429


def test_lock_of_a_known_and_of_an_unknown_name_read_alike(client, card, clock):
    fail(client, card, 5)
    fail(client, card, 5, name="Nobody")

    def page(name):
        answer = client.post(SIGN_IN, card.fields(name=name))
        return same_page(answer, name), answer["Retry-After"]

    assert page("Fenna") == page("Nobody")


def test_a_pupil_of_two_classes_is_counted_once(client, card, clock, other_class):
    enrol(card.pupil, other_class)
    fail(client, card, 3)
    fail(client, card, 2, code=other_class.code)
    assert client.post(SIGN_IN, card.fields()).status_code == 429


def test_an_unknown_code_writes_nothing_down(client, card, clock):
    fail(client, card, 7, code="XXXX-9999")
    assert not SignInFailure.objects.exists()


def test_thirty_failures_lock_the_class(client, card, clock, school, school_class):
    for number in range(30):
        fail(client, card, 1, name=f"Guess {number}")
    answer = client.post(SIGN_IN, card.fields())
    assert answer.status_code == 429
    assert answer["Retry-After"] == "3600"
    clock.forward(hours=1)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_a_locked_class_leaves_the_others_alone(client, card, clock, other_pupil, other_class):
    give_pin(other_pupil)
    for number in range(30):
        fail(client, card, 1, name=f"Guess {number}")
    fields = {"code": other_class.code, "name": other_pupil.name, "pin": PIN}
    assert client.post(SIGN_IN, fields).status_code == 302


def test_success_does_not_let_a_guesser_go_on_at_the_class(client, card, clock):
    """The count of a class is not begun anew by whoever has a card in it."""
    for number in range(29):
        fail(client, card, 1, name=f"Guess {number}")
    clock.forward(seconds=1)
    assert client.post(SIGN_IN, card.fields()).status_code == 302
    fail(client, card, 1, name="Guess 30")
    assert client.post(SIGN_IN, card.fields(name="Guess 31")).status_code == 429


def test_a_lock_never_touches_whoever_is_signed_in(client_of, card, clock):
    browser = client_of(card.pupil)
    guesser = Client()
    for number in range(25):
        fail(guesser, card, 1, name=f"Guess {number}")
    fail(guesser, card, 5)
    assert guesser.post(SIGN_IN, card.fields()).status_code == 429
    assert is_signed_in(browser)


def test_it_does_not_matter_where_the_tries_come_from(client, card, clock):
    for number in range(5):
        answer = client.post(SIGN_IN, card.fields(pin="000000"), REMOTE_ADDR=f"192.0.2.{number}")
        assert answer.status_code == 400
    assert client.post(SIGN_IN, card.fields(), REMOTE_ADDR="198.51.100.1").status_code == 429


def test_a_teacher_lifts_the_lock_at_once(client, client_of, card, clock, teacher):
    fail(client, card, 5)
    answer = client_of(teacher).post(reverse("accounts:lift_lock", args=[card.pupil.pk]), follow=True)
    assert "Fenna can try again now." in text_of(answer)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_the_class_page_shows_the_lock_and_offers_to_lift_it(client, client_of, card, clock, teacher):
    fail(client, card, 5)
    page = client_of(teacher).get(reverse("accounts:class_detail", args=[card.school_class.pk]))
    assert "Locked until 10:15" in text_of(page)
    assert reverse("accounts:lift_lock", args=[card.pupil.pk]) in page.content.decode()


def test_a_teacher_lifts_the_lock_of_the_class(client, client_of, card, clock, teacher):
    for number in range(30):
        fail(client, card, 1, name=f"Guess {number}")
    browser = client_of(teacher)
    detail = reverse("accounts:class_detail", args=[card.school_class.pk])
    assert "nobody can sign in to this class until 11:00" in text_of(browser.get(detail))
    answer = browser.post(reverse("accounts:class_lift_lock", args=[card.school_class.pk]), follow=True)
    assert "Everyone in 6 Larch can sign in again." in text_of(answer)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


@pytest.mark.parametrize("who", ["other_teacher", "stranger", "head"])
def test_nobody_else_lifts_a_lock(request, client, client_of, card, clock, who):
    browser = client_of(request.getfixturevalue(who))
    fail(client, card, 5)
    assert browser.post(reverse("accounts:lift_lock", args=[card.pupil.pk])).status_code == 404
    assert browser.post(reverse("accounts:class_lift_lock", args=[card.school_class.pk])).status_code == 404
    assert client.post(SIGN_IN, card.fields()).status_code == 429


def test_a_pupil_lifts_no_lock(client_of, card, clock):
    browser = client_of(card.pupil)
    assert browser.post(reverse("accounts:lift_lock", args=[card.pupil.pk])).status_code == 403


def test_lifting_takes_a_post(client_of, card, teacher):
    browser = client_of(teacher)
    assert browser.get(reverse("accounts:lift_lock", args=[card.pupil.pk])).status_code == 405
    assert browser.get(reverse("accounts:class_lift_lock", args=[card.school_class.pk])).status_code == 405


def test_failures_older_than_a_day_are_thrown_away(client, card, clock):
    fail(client, card, 3)
    clock.forward(days=1, seconds=1)
    fail(client, card, 1)
    assert SignInFailure.objects.count() == 1


def test_a_failure_keeps_nothing_that_was_typed(client, card, clock):
    fail(client, card, 1, name="Someone Else", pin="123456")
    [row] = SignInFailure.objects.values()
    assert not {"Someone Else", "someone else", "123456"} & set(map(str, row.values()))
    assert row["user_id"] is None
