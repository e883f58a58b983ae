"""The second factor: setting it up, who must, signing in with it."""

from __future__ import annotations

import os
import subprocess
import sys
from base64 import b32decode
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from accounts.errors import FactorSetError, SignInLockedError, WrongCodeError
from accounts.models import RecoveryCode, SecondFactor, SignInFailure
from accounts.services.second_factor import check_code, set_factor
from accounts.trail import Deed, Entry
from tests.accounts.conftest import KEY, NOW, PASSWORD, code_at, text_of, wrong_at
from tests.at_once import all_at_once

PAGE, STEP_TWO, SIGN_IN = "/second-factor/", "/sign-in/code/", "/sign-in/"


@pytest.fixture
def required(settings):
    settings.SECOND_FACTOR_REQUIRED = True


@pytest.fixture
def half_way_in(client, chief, recovery, clock) -> Client:
    """A browser in which the administrator has given the password."""
    answer = client.post(f"{SIGN_IN}?next=/records/", {"email": chief.email, "password": PASSWORD})
    assert answer["Location"] == f"{STEP_TWO}?next=%2Frecords%2F"
    return client


def is_in(client: Client) -> bool:
    return client.get("/records/").status_code == 200


# --- setting it up ------------------------------------------------------------------------------------------------


def shown_key(answer) -> bytes:
    return b32decode(answer.context["key"].replace(" ", ""))


def test_it_is_set_up_with_a_code_made_with_the_key_shown(client_of, chief, clock):
    client = client_of(chief)
    key = shown_key(client.get(PAGE))
    answer = client.post(PAGE, {"code": code_at(clock(), key)})
    assert answer.status_code == 200
    assert len(answer.context["codes"]) == 10
    factor = SecondFactor.objects.get()
    assert (factor.user, bytes(factor.key)) == (chief, key)
    assert "You have 10 left." in text_of(client.get(PAGE))
    assert Entry.objects.filter(deed=Deed.FACTOR_SET, by=chief).exists()


def test_a_wrong_code_sets_nothing_up_and_the_square_stays(client_of, chief, clock):
    client = client_of(chief)
    key = shown_key(client.get(PAGE))
    answer = client.post(PAGE, {"code": "12345"})
    assert answer.status_code == 400
    assert "This code does not match. Wait for the next one and type that." in text_of(answer)
    assert shown_key(answer) == key
    assert not SecondFactor.objects.exists()


@pytest.mark.parametrize("code", ["", "a\x00b", "9" * 41])
def test_what_is_no_text_is_refused_beside_the_field(client_of, chief, code):
    assert client_of(chief).post(PAGE, {"code": code}).status_code == 400


def test_the_key_is_not_shown_again_once_set(client_of, chief, recovery):
    answer = client_of(chief).get(PAGE)
    assert "key" not in answer.context
    assert b"GEZD" not in answer.content


def test_every_other_session_ends(client_of, chief, clock):
    elsewhere, here = client_of(chief), client_of(chief)
    key = shown_key(here.get(PAGE))
    here.post(PAGE, {"code": code_at(clock(), key)})
    assert is_in(here)
    assert not is_in(elsewhere)


@pytest.mark.django_db(transaction=True)
def test_of_two_windows_one_sets_it_up(chief):
    at = timezone.now()
    done = all_at_once(*[lambda: set_factor(user=chief, key=KEY, code=code_at(at), at=at)] * 2)
    assert sorted(type(one).__name__ for one in done) == ["FactorSetError", "list"]
    assert RecoveryCode.objects.count() == 10


def test_a_second_one_is_refused(chief, recovery):
    with pytest.raises(FactorSetError):
        set_factor(user=chief, key=KEY, code=code_at(NOW), at=NOW)


def test_where_none_is_asked_for_the_page_says_so(client_of, teacher, settings):
    says = "This installation does not ask for a second factor, as in a demonstration."
    assert says in text_of(client_of(teacher).get(PAGE))
    settings.SECOND_FACTOR_REQUIRED = True
    assert says not in text_of(client_of(teacher).get(PAGE))


# --- who must -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["head", "administrator"])
@pytest.mark.parametrize("path", ["/bank/", "/classes/", "/results/", "/password/", "/second-factor/codes/"])
def test_who_sees_the_whole_school_sets_one_up_first(request, client_of, required, who, path):
    client = client_of(request.getfixturevalue(who))
    answer = client.post(path) if path.endswith("codes/") else client.get(path)
    assert answer["Location"] == PAGE
    assert "a password alone does not let you in" in text_of(client.get(PAGE))


@pytest.mark.parametrize(("who", "path"), [("teacher", "/classes/"), ("pupil", "/my/")])
def test_teachers_may_and_pupils_have_none(request, client_of, required, who, path):
    client = client_of(request.getfixturevalue(who))
    assert client.get(path).status_code == 200
    assert client.get(PAGE).status_code == (200 if who == "teacher" else 403)


def test_once_set_up_the_way_is_free(client_of, chief, required, clock):
    client = client_of(chief)
    key = shown_key(client.get(PAGE))
    assert not is_in(client)
    client.post(PAGE, {"code": code_at(clock(), key)})
    assert is_in(client)


def test_a_session_from_before_is_asked_to_sign_in_again(client_of, chief, required, recovery):
    """It has shown no code, so the page tells of the factor and nothing else opens."""
    client = client_of(chief)
    assert client.get("/records/")["Location"] == PAGE
    assert client.post("/second-factor/codes/").status_code == 302
    assert RecoveryCode.objects.count() == 10


def test_signing_out_is_always_open(client_of, head, required):
    assert client_of(head).post("/sign-out/").status_code == 302


# --- signing in ---------------------------------------------------------------------------------------------------


def test_the_password_alone_does_not_let_in(half_way_in):
    assert not is_in(half_way_in)
    assert half_way_in.get("/classes/")["Location"].startswith(SIGN_IN)


def test_the_code_lets_in_and_leads_where_one_wanted_to_go(half_way_in, chief, required, clock):
    before = half_way_in.session.session_key
    answer = half_way_in.post(f"{STEP_TWO}?next=/records/", {"code": code_at(clock())})
    assert answer["Location"] == "/records/"
    assert half_way_in.session.session_key != before
    assert is_in(half_way_in)
    assert Entry.objects.filter(deed=Deed.SIGNED_IN, by=chief).count() == 1


def test_it_does_not_lead_to_another_site(half_way_in, clock):
    answer = half_way_in.post(f"{STEP_TWO}?next=//evil.example/", {"code": code_at(clock())})
    assert answer["Location"] == "/"


def test_a_code_counts_once(half_way_in, chief, clock):
    check_code(user=chief, code=code_at(clock()), at=clock())
    answer = half_way_in.post(STEP_TWO, {"code": code_at(clock())})
    assert answer.status_code == 400
    assert "This code does not match, or has been used." in text_of(answer)


@pytest.mark.django_db(transaction=True)
def test_one_code_sent_twice_at_once_lets_one_in(chief, recovery):
    done = all_at_once(*[lambda: check_code(user=chief, code=code_at(NOW), at=NOW)] * 2)
    assert sorted(map(type, done), key=str) == sorted([WrongCodeError, type(None)], key=str)


def test_an_older_code_does_not_count_after_a_newer(chief, recovery):
    check_code(user=chief, code=code_at(NOW), at=NOW)
    with pytest.raises(WrongCodeError):
        check_code(user=chief, code=code_at(NOW - timedelta(seconds=30)), at=NOW)


def test_after_five_wrong_codes_the_right_one_waits(half_way_in, clock):
    for _ in range(5):
        assert half_way_in.post(STEP_TWO, {"code": wrong_at(clock())}).status_code == 400
    answer = half_way_in.post(STEP_TWO, {"code": code_at(clock())})
    assert answer.status_code == 429
    assert int(answer["Retry-After"]) == 15 * 60
    assert "Too many codes did not match. Wait until 10:15" in text_of(answer)
    assert not is_in(half_way_in)


def test_a_lock_opens_by_itself_and_by_the_administrator(chief, recovery):
    for _ in range(5):
        with pytest.raises(WrongCodeError):
            check_code(user=chief, code="0", at=NOW)
    with pytest.raises(SignInLockedError):
        check_code(user=chief, code=code_at(NOW), at=NOW)
    later = NOW + timedelta(minutes=15, seconds=1)
    check_code(user=chief, code=code_at(later), at=later)
    SignInFailure.objects.all().delete()
    check_code(user=chief, code=code_at(later + timedelta(seconds=30)), at=later + timedelta(seconds=30))


@pytest.mark.django_db(transaction=True)
def test_of_many_tries_at_once_no_more_than_the_limit_are_judged(chief, recovery):
    done = all_at_once(*[lambda: check_code(user=chief, code="0", at=NOW)] * 8)
    assert sum(isinstance(one, WrongCodeError) for one in done) <= 5
    assert all(isinstance(one, WrongCodeError | SignInLockedError) for one in done)


def test_five_minutes_are_given(half_way_in, clock):
    clock.forward(minutes=5, seconds=1)
    answer = half_way_in.post(STEP_TWO, {"code": code_at(clock())}, follow=True)
    assert "That took too long. Sign in once more." in text_of(answer)
    assert not is_in(half_way_in)


@pytest.mark.parametrize("change", ["password", "disabled"])
def test_what_changes_meanwhile_ends_it(half_way_in, chief, clock, change):
    if change == "password":
        chief.set_password("another calm heron wades")
    chief.is_active = change != "disabled"
    chief.save()
    assert half_way_in.post(STEP_TWO, {"code": code_at(clock())})["Location"] == SIGN_IN


def test_without_the_first_step_there_is_no_second(client, db):
    assert client.get(STEP_TWO)["Location"] == SIGN_IN


def test_whoever_was_signed_in_on_the_device_is_so_no_more(client_of, teacher, chief, recovery, clock):
    client = client_of(teacher)
    client.post(SIGN_IN, {"email": chief.email, "password": PASSWORD})
    assert client.get("/classes/").status_code == 302


def test_a_teacher_with_one_is_asked_as_well(client, known_teacher, clock):
    set_factor(user=known_teacher, key=KEY, code=code_at(clock()), at=clock())
    answer = client.post(SIGN_IN, {"email": known_teacher.email, "password": PASSWORD})
    assert answer["Location"].startswith(STEP_TWO)


def test_a_refusal_is_in_the_trail(half_way_in, chief, clock):
    half_way_in.post(STEP_TWO, {"code": wrong_at(clock())})
    assert Entry.objects.get(deed=Deed.SIGN_IN_REFUSED).about == {"staff": chief.pk}


# --- in production ------------------------------------------------------------------------------------------------


def test_it_is_asked_for_unless_switched_off():
    """The settings as a process reads them that is told nothing of it."""
    asked = "from config import settings; print(settings.SECOND_FACTOR_REQUIRED)"
    for told, answer in (({}, "True"), ({"SECOND_FACTOR_REQUIRED": "0"}, "False")):
        environment = {"PATH": os.environ["PATH"], "SECRET_KEY": "x" * 40, **told}
        run = subprocess.run([sys.executable, "-c", asked], env=environment, capture_output=True, text=True, check=True)
        assert run.stdout.strip() == answer


def test_neither_key_nor_code_is_logged(half_way_in, clock, caplog):
    code = code_at(clock())
    half_way_in.post(STEP_TWO, {"code": wrong_at(clock())})
    half_way_in.post(STEP_TWO, {"code": code})
    assert code not in caplog.text
    assert KEY.decode() not in caplog.text
