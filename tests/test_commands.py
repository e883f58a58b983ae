"""The commands of manage.py that open a school."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from accounts.models import School, User
from accounts.services.people import create_adult, create_school

pytestmark = pytest.mark.django_db
WORDS = ("Ferndale School", "bo@ferndale.example", "Bo Ferris")


def new_school(*words: str) -> str:
    out = StringIO()
    call_command("new_school", *words, stdout=out)
    return out.getvalue()


def test_a_new_school_has_an_administrator_who_sets_a_password_by_the_link():
    printed = new_school(*WORDS)
    person = User.objects.get(email="bo@ferndale.example")
    assert (person.name, person.is_administrator, person.school.name) == ("Bo Ferris", True, "Ferndale School")
    assert not person.has_usable_password()
    path = re.search(r"http://127\.0\.0\.1(/\S+)", printed)[1]
    word = "a-long-walk-to-school"
    Client().post(path, {"password": word})
    person.refresh_from_db()
    assert person.check_password(word)


def test_an_address_that_has_an_account_opens_no_second_school():
    create_adult(school=create_school(name="First"), role="teacher", email=WORDS[1], name="Bo", by=None)
    with pytest.raises(CommandError, match="There is already an account with this e-mail address"):
        new_school(*WORDS)
    assert list(School.objects.values_list("name", flat=True)) == ["First"]


def test_an_address_that_is_none_is_refused():
    with pytest.raises(CommandError, match="bo-at-ferndale is not an e-mail address"):
        new_school("Ferndale School", "bo-at-ferndale", "Bo Ferris")
    assert not School.objects.exists()


def test_the_link_bears_the_address_that_browsers_use(settings):
    """A proxy may show another name or port than the site is asked by."""
    settings.CSRF_TRUSTED_ORIGINS = ["https://*.wood.example", "https://fold.wood.example:8443"]
    assert "\nhttps://fold.wood.example:8443/invitation/" in new_school(*WORDS)


def another_link(email: str) -> str:
    out = StringIO()
    call_command("invite", email, stdout=out)
    return re.search(r"http://127\.0\.0\.1(/\S+)", out.getvalue())[1]


def test_an_only_administrator_whose_link_is_spent_gets_another():
    first = re.search(r"http://127\.0\.0\.1(/\S+)", new_school(*WORDS))[1]
    second = another_link(WORDS[1].upper())
    assert Client().get(first).status_code == 410
    assert "Bo Ferris" in Client().get(second).content.decode()


def test_a_link_is_made_for_those_alone_who_may_come_in():
    with pytest.raises(CommandError, match="There is no account with the e-mail address x@y"):
        another_link("x@y.example")
    new_school(*WORDS)
    User.objects.update(is_active=False)
    with pytest.raises(CommandError, match="The account of Bo Ferris is disabled"):
        another_link(WORDS[1])
