"""The generator is not at hand, or lost: recovery codes, and somebody else who takes the second factor away."""

from __future__ import annotations

from base64 import b32decode
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from accounts import codes
from accounts.errors import NotAllowedError, WrongCodeError
from accounts.models import RecoveryCode, Role, SecondFactor, User
from accounts.services.people import invite
from accounts.services.second_factor import check_code, reset_factor, set_factor
from accounts.trail import Deed, Entry
from tests.accounts.conftest import KEY, NOW, PASSWORD, code_at, text_of, wrong_at
from tests.factories import make_adult

PAGE, STEP_TWO, SIGN_IN = "/second-factor/", "/sign-in/code/", "/sign-in/"


def shown_key(answer) -> bytes:
    return b32decode(answer.context["key"].replace(" ", ""))


# --- recovery codes -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("how", [str, str.lower, lambda code: code.replace("-", " ")])
def test_a_recovery_code_lets_in_once_however_it_is_typed(chief, recovery, how):
    check_code(user=chief, code=how(recovery[3]), at=NOW)
    with pytest.raises(WrongCodeError):
        check_code(user=chief, code=recovery[3], at=NOW)
    assert RecoveryCode.objects.count() == 9


def test_recovery_codes_are_kept_as_hashes(chief, recovery):
    kept = list(RecoveryCode.objects.values_list("hashed", flat=True))
    assert len(set(kept)) == len(set(recovery)) == 10
    assert all(one.startswith("argon2$argon2id$") for one in kept)
    assert not any(code in one or code.replace("-", "") in one for code in recovery for one in kept)


def test_recovery_codes_are_shown_once(client_of, chief, clock):
    client = client_of(chief)
    answer = client.post(PAGE, {"code": code_at(clock(), shown_key(client.get(PAGE)))})
    code = answer.context["codes"][0]
    assert code in text_of(answer)
    assert code not in text_of(client.get(PAGE))
    assert "no-store" in answer["Cache-Control"]


def test_new_ones_put_the_old_ones_out_of_use(client_of, chief, recovery):
    answer = client_of(chief).post("/second-factor/codes/")
    assert len(answer.context["codes"]) == 10
    with pytest.raises(WrongCodeError):
        check_code(user=chief, code=recovery[0], at=NOW)
    check_code(user=chief, code=answer.context["codes"][0], at=NOW)


def test_another_persons_code_is_none(teacher, chief, recovery):
    key = codes.new_key()
    set_factor(user=teacher, key=key, code=code_at(NOW, key), at=NOW)
    for code in (recovery[0], wrong_at(NOW)):
        with pytest.raises(WrongCodeError):
            check_code(user=teacher, code=code, at=NOW)
    assert RecoveryCode.objects.filter(user=chief).count() == 10


# --- lost ---------------------------------------------------------------------------------------------------------


def reset_address(person: User) -> str:
    return reverse("accounts:factor_reset", args=[person.pk])


@pytest.fixture
def lost(head: User) -> User:
    set_factor(user=head, key=KEY, code=code_at(NOW), at=NOW)
    return head


def test_the_administrator_takes_it_away_and_it_is_recorded(client_of, administrator, lost):
    device, client = client_of(lost), client_of(administrator)
    assert "Take it away" in text_of(client.get(reverse("accounts:staff_edit", args=[lost.pk])))
    answer = client.post(reset_address(lost), follow=True)
    assert "Ines Holt is signed out everywhere and has no second factor any more." in text_of(answer)
    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    assert device.get("/classes/").status_code == 302
    entry = Entry.objects.get(deed=Deed.FACTOR_RESET)
    assert (entry.by, entry.about) == (administrator, {"staff": lost.pk})


def test_nobody_takes_away_their_own(client_of, chief, recovery):
    client = client_of(chief)
    assert client.post(reset_address(chief)).status_code == 404
    assert "Another administrator can take it away." in text_of(
        client.get(reverse("accounts:staff_edit", args=[chief.pk]))
    )
    with pytest.raises(NotAllowedError):
        reset_factor(user=chief, by=chief, at=NOW)
    assert SecondFactor.objects.exists()


@pytest.mark.parametrize("who", ["teacher", "stranger", "foreign"])
def test_nobody_else_takes_it_away(request, other_school, lost, who):
    by = make_adult(other_school, Role.ADMINISTRATOR) if who == "foreign" else request.getfixturevalue(who)
    with pytest.raises(NotAllowedError):
        reset_factor(user=lost, by=by, at=NOW)
    assert SecondFactor.objects.exists()


def test_a_new_password_does_not_get_round_it(client, administrator, lost, clock):
    """An invitation sets a password; the second factor is asked for all the same."""
    token = invite(user=lost, by=administrator, at=clock())
    client.post(reverse("accounts:invitation", args=[token]), {"password": PASSWORD})
    answer = client.post(SIGN_IN, {"email": lost.email, "password": PASSWORD})
    assert answer["Location"].startswith(STEP_TWO)


def test_whoever_runs_the_server_can_as_well(lost):
    said = StringIO()
    call_command("reset_second_factor", lost.email.upper(), stdout=said)
    assert "Ines Holt is signed out everywhere" in said.getvalue()
    assert Entry.objects.get(deed=Deed.FACTOR_RESET).by is None
    with pytest.raises(CommandError, match="Ines Holt has no second factor"):
        call_command("reset_second_factor", lost.email)
    with pytest.raises(CommandError, match="There is no account with the e-mail address x@y"):
        call_command("reset_second_factor", "x@y.example")
