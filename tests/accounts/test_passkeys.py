"""Passkeys: made on the page of the second factor, signed in with, refused for each thing that can be wrong."""

from __future__ import annotations

import json

import pytest
from django.test import Client

from accounts.models import Passkey, RecoveryCode, SecondFactor, SignInFailure, User
from accounts.services.second_factor import has_factor, reset_factor
from accounts.trail import Deed, Entry
from tests.accounts.conftest import PASSWORD, code_at, text_of
from tests.accounts.soft_passkey import SoftPasskey, number
from tests.factories import make_passkey

PAGE, NEW, NEW_OPTIONS = "/second-factor/", "/second-factor/passkeys/", "/second-factor/passkeys/options.json"
IN, IN_OPTIONS, SIGN_IN, CODE = "/sign-in/passkey/", "/sign-in/passkey/options.json", "/sign-in/", "/sign-in/code/"


@pytest.fixture
def device() -> SoftPasskey:
    return SoftPasskey()


@pytest.fixture
def held(chief, device, client_of, clock) -> Passkey:
    """The administrator's passkey, which ``device`` holds."""
    make(client_of(chief), device)
    return Passkey.objects.get()


def make(client: Client, device: SoftPasskey, name: str = "Staff laptop"):
    options = client.post(NEW_OPTIONS, {"name": name, "current": PASSWORD}).json()
    return client.post(NEW, {"credential": device.created(options)})


def enter(client: Client, device: SoftPasskey, path: str = IN):
    return client.post(path, {"credential": device.signed(client.post(IN_OPTIONS).json())})


def give_password(client: Client, user: User) -> None:
    assert client.post(SIGN_IN, {"email": user.email, "password": PASSWORD})["Location"] == CODE


def is_in(client: Client) -> bool:
    return client.get("/records/").status_code == 200


# --- making one ---------------------------------------------------------------------------------------------------


def test_the_first_one_is_a_second_factor_with_recovery_codes(client_of, chief, device, settings, clock):
    settings.SECOND_FACTOR_REQUIRED = True
    client, elsewhere = client_of(chief), client_of(chief)
    assert not is_in(client)
    answer = make(client, device)
    assert len(answer.context["codes"]) == RecoveryCode.objects.count() == 10
    assert is_in(client)
    assert elsewhere.get("/records/").status_code == 302
    kept = Passkey.objects.get()
    assert (kept.user, kept.name, bytes(kept.credential)) == (chief, "Staff laptop", device.name)
    assert Entry.objects.filter(deed=Deed.PASSKEY_ADDED, by=chief).exists()
    page = text_of(client.get(PAGE))
    assert "Staff laptop Since 14 May 2026, not used yet" in page
    assert "You have 10 left." in page


def test_what_the_browser_is_asked_tells_nothing_but_who_signs_in(client_of, chief, held):
    client = client_of(chief)
    session = client.session
    session["second_factor_passed"] = True
    session.save()
    asked = client.post(NEW_OPTIONS, {"name": "Another", "current": PASSWORD}).json()
    assert asked["rp"] == {"name": "Creasemark", "id": "testserver"}
    assert asked["user"]["name"] == chief.email
    assert len(number(asked["user"]["id"])) == len(number(asked["challenge"])) == 32
    assert asked["attestation"] == "none"
    assert asked["authenticatorSelection"]["userVerification"] == "required"
    assert [number(one["id"]) for one in asked["excludeCredentials"]] == [bytes(held.credential)]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"name": "", "current": PASSWORD}, "Write a name."),
        ({"name": "Laptop", "current": "wrong"}, "This is not your current password."),
        ({"name": "Laptop"}, "Fill in “Current password”."),
    ],
)
def test_nothing_is_asked_without_a_name_and_the_password(client_of, chief, device, typed, says):
    client = client_of(chief)
    answer = client.post(NEW_OPTIONS, typed)
    assert (answer.status_code, answer.json()) == (400, {"says": says})
    assert client.post(NEW, {"credential": device.created({"challenge": "AAAA"})}).status_code == 302
    assert not Passkey.objects.exists()


def test_a_session_that_has_shown_no_factor_adds_none(client_of, chief, held):
    """Whoever has the password alone must not give themselves the other factor."""
    client = client_of(chief)
    assert client.post(NEW_OPTIONS, {"name": "Another", "current": PASSWORD}).status_code == 403
    assert client.post(NEW, {"credential": "{}"}).status_code == 403
    assert client.get(f"{PAGE}?generator=1").context["passkeys"] == [held]
    assert client.post(f"{PAGE}?generator=1", {"code": "123456"}).status_code == 409


def test_a_passkey_made_elsewhere_or_without_its_owner_is_refused(client_of, chief):
    client = client_of(chief)
    for wrong in (SoftPasskey("http://testserver.evil.example"), SoftPasskey("https://testserver"), SoftPasskey()):
        wrong.verified = wrong.host != "testserver" or wrong.origin.startswith("https")
        answer = make(client, wrong)
        assert answer["Location"] == PAGE
    assert not Passkey.objects.exists()
    assert not RecoveryCode.objects.exists()


def test_one_passkey_is_set_up_once(client_of, chief, teacher, device, held):
    teacher.set_password(PASSWORD)
    teacher.save()
    answer = make(client_of(teacher), device)
    assert answer["Location"] == PAGE
    assert Passkey.objects.get() == held
    assert not has_factor(teacher)


# --- signing in ---------------------------------------------------------------------------------------------------


def test_a_passkey_alone_lets_in_and_leads_where_one_wanted_to_go(client, chief, device, held, settings):
    settings.SECOND_FACTOR_REQUIRED = True
    answer = enter(client, device, f"{IN}?next=/records/")
    assert answer["Location"] == "/records/"
    assert is_in(client)
    assert Entry.objects.get(deed=Deed.SIGNED_IN).by == chief
    held.refresh_from_db()
    assert (held.sign_count, held.last_used is None) == (1, False)
    assert not SignInFailure.objects.exists()


def test_after_the_password_it_stands_in_for_the_code(client, chief, device, held):
    give_password(client, chief)
    assert "Use a passkey" in text_of(client.get(CODE))
    asked = client.post(IN_OPTIONS).json()
    assert [number(one["id"]) for one in asked["allowCredentials"]] == [device.name]
    assert not is_in(client)
    enter(client, device)
    assert is_in(client)


def test_recovery_codes_work_without_the_passkey(client, client_of, chief, device):
    made = make(client_of(chief), device).context["codes"]
    give_password(client, chief)
    client.post(CODE, {"code": made[0]})
    assert is_in(client)


def test_before_the_password_nobody_learns_which_passkeys_there_are(client, held):
    assert client.post(IN_OPTIONS).json()["allowCredentials"] == []


def refused(client: Client, answer) -> bool:
    return answer.status_code == 302 and answer["Location"] in (SIGN_IN, CODE) and not is_in(client)


def test_an_answer_counts_once(client, device, held):
    answer = device.signed(client.post(IN_OPTIONS).json())
    thief = Client()
    assert refused(thief, thief.post(IN, {"credential": answer}))
    thief.post(IN_OPTIONS)
    assert refused(thief, thief.post(IN, {"credential": answer}))
    client.post(IN, {"credential": answer})
    assert is_in(client)
    client.post("/sign-out/")
    assert refused(client, client.post(IN, {"credential": answer}))


def test_five_minutes_are_given(client, device, held, clock):
    options = client.post(IN_OPTIONS).json()
    clock.forward(minutes=5, seconds=1)
    answer = client.post(IN, {"credential": device.signed(options)}, follow=True)
    assert "That took too long, or was sent twice." in text_of(answer)
    assert not is_in(client)


@pytest.mark.parametrize(
    "wrong",
    [
        {"origin": "http://testserver.evil.example"},
        {"origin": "https://testserver"},
        {"host": "evil.example"},
        {"verified": False},
        {"count": -1},
        {"key": SoftPasskey().key},
    ],
    ids=["another site", "another scheme", "another host", "owner not verified", "count not grown", "another key"],
)
def test_what_is_wrong_is_refused_and_in_the_trail(client, chief, device, held, wrong):
    Passkey.objects.update(sign_count=7)
    device.count = 7
    for name, value in wrong.items():
        setattr(device, name, value)
    assert refused(client, enter(client, device))
    assert Entry.objects.get(deed=Deed.SIGN_IN_REFUSED).about == {"staff": chief.pk}
    assert SignInFailure.objects.count() == 1


def test_a_copy_that_signs_with_a_count_used_before_is_refused(client, device, held):
    device.count = 4
    enter(client, device)
    assert is_in(client)
    device.count = 4  # the copy was made before
    other = Client()
    assert refused(other, enter(other, device))


def test_a_removed_passkey_or_a_disabled_owner_is_refused(client, chief, device, held):
    User.objects.filter(pk=chief.pk).update(is_active=False)
    assert refused(client, enter(client, device))
    User.objects.filter(pk=chief.pk).update(is_active=True)
    held.delete()
    assert refused(client, enter(client, device))


def test_another_persons_passkey_does_not_follow_a_password(client, chief, known_teacher, device, held):
    """Neither is let in: not whose password it was, nor whose passkey."""
    make_passkey(known_teacher)
    give_password(client, known_teacher)
    answer = enter(client, device)
    assert answer["Location"] == CODE
    assert not is_in(client)
    assert client.get("/classes/").status_code == 302
    assert Entry.objects.get(deed=Deed.SIGN_IN_REFUSED).about == {"staff": known_teacher.pk}


def test_after_five_wrong_answers_the_right_one_waits(client, device, held, clock):
    device.verified = False
    for _ in range(5):
        assert refused(client, enter(client, device))
    device.verified = True
    assert refused(client, enter(client, device))
    assert "Too many codes did not match. Wait until 10:15" in text_of(client.get(SIGN_IN))
    clock.forward(minutes=15, seconds=1)
    enter(client, device)
    assert is_in(client)


@pytest.mark.parametrize(
    "answer",
    ["", "{", "[]", "[" * 15_000, "1", '{"rawId": 7}', '{"rawId": "\\u0661"}', "\x00", "x" * 20_001, '{"rawId": "AA"}'],
)
def test_what_is_no_answer_is_refused(client, held, device, answer):
    client.post(IN_OPTIONS)
    assert refused(client, client.post(IN, {"credential": answer}))
    known = json.loads(device.signed(client.post(IN_OPTIONS).json()))
    known["response"]["authenticatorData"] = answer
    assert refused(client, client.post(IN, {"credential": json.dumps(known)}))


# --- taking one away ----------------------------------------------------------------------------------------------


def with_factor(client: Client) -> Client:
    session = client.session
    session["second_factor_passed"] = True
    session.save()
    return client


def test_one_is_removed_but_not_the_last_factor(client_of, chief, held, clock):
    client = with_factor(client_of(chief))
    make(client, SoftPasskey(), "Telephone")
    assert "The passkey “Staff laptop” no longer lets you in." in text_of(
        client.post(f"{NEW}{held.pk}/remove/", follow=True)
    )
    left = Passkey.objects.get()
    assert left.name == "Telephone"
    assert "This is your only second factor." in text_of(client.post(f"{NEW}{left.pk}/remove/", follow=True))
    assert Passkey.objects.get() == left
    assert [entry.deed for entry in Entry.objects.filter(deed=Deed.PASSKEY_REMOVED)] == [Deed.PASSKEY_REMOVED]


def test_a_generator_beside_it_is_set_up_from_the_same_page(client_of, chief, held, clock):
    client = with_factor(client_of(chief))
    shown = client.get(f"{PAGE}?generator=1")
    key = bytes.fromhex(client.session["new_second_factor_key"])
    assert "key" in shown.context
    assert client.post(f"{PAGE}?generator=1", {"code": code_at(clock(), key)}).status_code == 200
    assert SecondFactor.objects.get().user == chief
    assert Passkey.objects.get() == held


def test_another_persons_is_not_there(client_of, teacher, held):
    assert client_of(teacher).post(f"{NEW}{held.pk}/remove/").status_code == 404


def test_an_administrator_takes_all_of_it_away(chief, held):
    reset_factor(user=chief, by=None, at=held.since)
    assert not has_factor(chief)
