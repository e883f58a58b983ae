"""Many at once, with real threads on a database that really commits: the database decides, once."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime

import pytest

from accounts.errors import (
    EmailTakenError,
    InvitationSpentError,
    LastAdministratorError,
    NameTakenError,
    NothingAddedError,
    SignInLockedError,
    SignInRefusedError,
    StaleCardsError,
)
from accounts.models import Enrolment, Role, SchoolClass, SignInFailure, User
from accounts.services import cards, classes, people
from accounts.services.cards import NewPupil
from accounts.services.lists import add_from_list
from accounts.services.sign_in import sign_in_adult, sign_in_pupil
from tests.accounts.conftest import PASSWORD, PIN, give_pin
from tests.at_once import all_at_once
from tests.factories import enrol, make_adult, make_class, make_pupil, make_school

pytestmark = pytest.mark.django_db(transaction=True)
NOW = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)


@pytest.fixture
def school():
    return make_school()


@pytest.fixture
def boss(school):
    return make_adult(school, Role.ADMINISTRATOR, password=PASSWORD)


@pytest.fixture
def school_class(school):
    return make_class(school)


def kinds(answers):
    return Counter(type(answer) for answer in answers)


def test_of_many_guesses_at_once_five_are_judged(school, school_class):
    pupil = make_pupil(school, "Fenna")
    enrol(pupil, school_class)
    give_pin(pupil)

    def guess(number):
        pin = f"{number:06}"
        return lambda: sign_in_pupil(code=school_class.code, name="Fenna", pin=pin, at=NOW)

    answers = all_at_once(*map(guess, range(12)))
    assert set(kinds(answers)) <= {SignInRefusedError, SignInLockedError}
    assert kinds(answers)[SignInRefusedError] <= 5
    assert SignInFailure.objects.count() == kinds(answers)[SignInRefusedError]


def test_of_many_passwords_at_once_ten_are_judged(boss):
    boss.set_password(PASSWORD)
    boss.save()

    def guess():
        return sign_in_adult(email=boss.email, password="wrong", at=NOW)

    answers = all_at_once(*[guess] * 16)
    assert set(kinds(answers)) <= {SignInRefusedError, SignInLockedError}
    assert kinds(answers)[SignInRefusedError] <= 10


def test_a_whole_class_signing_in_at_once_gets_in(school, school_class):
    deeds = []
    for number in range(12):
        pupil = make_pupil(school, f"Pupil {number}")
        enrol(pupil, school_class)
        give_pin(pupil)
        fields = {"code": school_class.code, "name": pupil.name, "pin": PIN}
        deeds.append(lambda fields=fields: sign_in_pupil(**fields, at=NOW))
    assert kinds(all_at_once(*deeds)) == {User: 12}
    assert not SignInFailure.objects.exists()


def test_one_name_added_by_many_is_one_pupil(school_class, boss):
    def add():
        return classes.add_pupils(school_class=school_class, pupils=[NewPupil("Fenna")], by=boss)

    answers = all_at_once(*[add] * 6)
    assert kinds(answers) == {list: 1, NameTakenError: 5}
    assert Enrolment.objects.count() == User.objects.pupils().count() == 1


def test_one_list_sent_by_many_is_added_once(school_class, boss):
    text = "\n".join(f"Pupil {number}" for number in range(20))
    lines = set(range(1, 21))

    def add():
        return add_from_list(school_class=school_class, text=text, lines=lines, by=boss)

    answers = all_at_once(*[add] * 4)
    assert kinds(answers) == {list: 1, NothingAddedError: 3}
    assert Enrolment.objects.count() == User.objects.pupils().count() == 20


def test_one_class_made_by_many_is_one_class(school, boss):
    def make():
        return classes.create_class(school=school, name="6 Larch", teachers=[], by=boss)

    assert kinds(all_at_once(*[make] * 6)) == {SchoolClass: 1, NameTakenError: 5}
    assert SchoolClass.objects.count() == 1


def test_one_address_in_any_case_is_one_account(school, boss):
    def make(email):
        return lambda: people.create_adult(school=school, role=Role.TEACHER, email=email, name="Edda", by=boss)

    emails = ["edda@tarnlow.example", "EDDA@tarnlow.example", "Edda@Tarnlow.Example"] * 2
    assert kinds(all_at_once(*map(make, emails))) == {User: 1, EmailTakenError: 5}


def test_cards_asked_for_by_two_are_made_once(school, school_class, boss):
    """Else one of two teachers would print cards that no longer work."""
    pupils = [make_pupil(school) for _ in range(5)]
    for pupil in pupils:
        enrol(pupil, school_class)
    seen = cards.state_of_pins(school_class)

    def make():
        return cards.issue_pins(school_class=school_class, pupils=pupils, seen=seen, by=boss)

    answers = all_at_once(*[make] * 4)
    assert kinds(answers) == {list: 1, StaleCardsError: 3}
    [made] = [answer for answer in answers if isinstance(answer, list)]
    for card in made:
        assert sign_in_pupil(code=school_class.code, name=card.pupil.name, pin=card.pin, at=NOW) == card.pupil


def test_one_invitation_followed_by_many_sets_one_password(school, boss):
    person = make_adult(school)
    token = people.invite(user=person, by=boss, at=NOW)
    found = [people.open_invitation(token=token, at=NOW) for _ in range(5)]

    def accept(number):
        password = f"password number {number}"
        return lambda: people.accept_invitation(invitation=found[number], password=password, at=NOW)

    answers = all_at_once(*map(accept, range(5)))
    assert kinds(answers) == {type(None): 1, InvitationSpentError: 4}
    person.refresh_from_db()
    assert person.check_password(f"password number {answers.index(None)}")


def test_administrators_who_disable_each_other_leave_one(school, boss):
    other = make_adult(school, Role.ADMINISTRATOR, password=PASSWORD)

    def one():
        return people.disable(user=User.objects.get(pk=other.pk), by=boss)

    def two():
        return people.disable(user=User.objects.get(pk=boss.pk), by=other)

    assert kinds(all_at_once(one, two)) == {type(None): 1, LastAdministratorError: 1}
    assert User.objects.filter(role=Role.ADMINISTRATOR, is_active=True).count() == 1
