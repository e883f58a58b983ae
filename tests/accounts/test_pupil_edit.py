"""Correcting a pupil, and taking one out of a class."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from accounts.errors import NotAllowedError
from accounts.models import Enrolment, User
from accounts.services import classes
from tests.accounts.conftest import text_of
from tests.factories import enrol, make_pupil


@pytest.fixture
def browser(client_of, teacher):
    return client_of(teacher)


@pytest.fixture
def page(pupil):
    return reverse("accounts:pupil_edit", args=[pupil.pk])


@pytest.fixture
def removal(pupil, school_class):
    return reverse("accounts:pupil_remove", args=[school_class.pk, pupil.pk])


def fields(**other):
    return {"name": "Fenna", "extra_time": "0", "own_extra_time": ""} | other


def test_name_and_extra_time_are_saved(browser, page, pupil, school_class):
    answer = browser.post(page, fields(name="Fenna K", extra_time="25"), follow=True)
    pupil.refresh_from_db()
    assert (pupil.name, pupil.extra_time) == ("Fenna K", 25)
    assert Enrolment.objects.get(pupil=pupil).folded_name == "fenna k"
    assert answer.redirect_chain == [(reverse("accounts:class_detail", args=[school_class.pk]), 302)]
    assert "Fenna K is saved." in text_of(answer)


@pytest.mark.parametrize(("percent", "shown"), [(0, "0"), (25, "25"), (50, "50"), (33, "own")])
def test_the_page_shows_what_is_set(browser, page, pupil, percent, shown):
    User.objects.filter(pk=pupil.pk).update(extra_time=percent)
    body = browser.get(page).content.decode()
    assert re.findall(r'name="extra_time" value="(\w+)"[^>]* checked', body) == [shown]
    if shown == "own":
        assert 'value="33"' in body


def test_saved_unchanged_it_stays_as_it_is(browser, page, pupil):
    User.objects.filter(pk=pupil.pk).update(extra_time=33)
    browser.post(page, fields(extra_time="own", own_extra_time="33"))
    pupil.refresh_from_db()
    assert (pupil.name, pupil.extra_time) == ("Fenna", 33)


def test_the_pupil_signs_in_by_the_new_name(browser, client, card):
    browser.post(reverse("accounts:pupil_edit", args=[card.pupil.pk]), fields(name="Fen"))
    assert client.post("/pupil/", card.fields(name="Fenna")).status_code == 400
    assert client.post("/pupil/", card.fields(name="fen")).status_code == 302


def test_a_name_of_the_class_is_refused_and_nothing_changes(browser, page, pupil, school, school_class):
    enrol(make_pupil(school, "Galen"), school_class)
    answer = browser.post(page, fields(name="galen", extra_time="50"))
    assert answer.status_code == 400
    assert "There is a pupil of this name in the class already." in text_of(answer)
    assert 'value="galen"' in answer.content.decode()
    pupil.refresh_from_db()
    assert (pupil.name, pupil.extra_time) == ("Fenna", 0)


def test_the_name_must_differ_in_every_class_the_pupil_is_in(browser, page, pupil, other_class, other_pupil):
    """The teacher does not take the other class, and yet two of a name there could not sign in."""
    enrol(pupil, other_class)
    assert browser.post(page, fields(name="Galen")).status_code == 400


def test_the_case_of_a_name_can_be_mended(browser, page, pupil):
    browser.post(page, fields(name="FENNA"))
    pupil.refresh_from_db()
    assert pupil.name == "FENNA"


@pytest.mark.parametrize("own", ["-10", "900", "", "x"])
def test_extra_time_out_of_reach_is_refused(browser, page, pupil, own):
    answer = browser.post(page, fields(extra_time="own", own_extra_time=own))
    assert answer.status_code == 400
    pupil.refresh_from_db()
    assert pupil.extra_time == 0


@pytest.mark.parametrize("who", ["other_teacher", "head", "stranger"])
def test_for_others_there_is_no_such_pupil(request, client_of, page, pupil, who):
    browser = client_of(request.getfixturevalue(who))
    assert browser.get(page).status_code == 404
    assert browser.post(page, fields(extra_time="50")).status_code == 404
    pupil.refresh_from_db()
    assert pupil.extra_time == 0


def test_a_pupil_cannot_give_itself_time(client_of, page, pupil):
    assert client_of(pupil).post(page, fields(extra_time="50")).status_code == 403


@pytest.mark.parametrize("whom", ["teacher", "administrator", "stranger"])
def test_adults_are_not_edited_as_pupils(request, client_of, administrator, whom):
    adult = request.getfixturevalue(whom)
    assert client_of(administrator).get(reverse("accounts:pupil_edit", args=[adult.pk])).status_code == 404


def test_the_service_holds_the_rule_too(pupil, head, other_teacher, stranger):
    for by in (head, other_teacher, stranger, pupil):
        with pytest.raises(NotAllowedError, match=r"Only a pupil's teachers and the administrator change this."):
            classes.update_pupil(pupil=pupil, name="Fenna", extra_time=50, rest_breaks=False, by=by)


# --- removal ------------------------------------------------------------------------------------------------------


def test_removal_asks_first(browser, removal):
    words = text_of(browser.get(removal))
    assert "Remove Fenna ?" in words
    assert "What the pupil has answered so far is kept with the results." in words
    assert Enrolment.objects.count() == 1


def test_then_the_pupil_is_out_of_the_class_and_still_known(browser, removal, pupil, school_class):
    answer = browser.post(removal, follow=True)
    assert "Fenna is no longer in 6 Larch." in text_of(answer)
    assert not Enrolment.objects.exists()
    assert User.objects.filter(pk=pupil.pk).exists()


def test_other_classes_keep_the_pupil(browser, removal, pupil, other_class):
    enrol(pupil, other_class)
    browser.post(removal)
    assert [place.school_class for place in pupil.enrolments.all()] == [other_class]


def test_removed_twice_is_not_there(browser, removal):
    browser.post(removal)
    assert browser.post(removal).status_code == 404


def test_the_name_is_free_again(browser, removal, school_class):
    browser.post(removal)
    answer = browser.post(reverse("accounts:pupil_new", args=[school_class.pk]), fields())
    assert answer.status_code == 200
    assert User.objects.filter(name="Fenna").count() == 2


@pytest.mark.parametrize("who", ["other_teacher", "head", "stranger"])
def test_others_remove_nobody(request, client_of, removal, who):
    assert client_of(request.getfixturevalue(who)).post(removal).status_code == 404
    assert Enrolment.objects.count() == 1


def test_a_pupil_of_another_class_is_not_there(browser, school_class, other_pupil):
    path = reverse("accounts:pupil_remove", args=[school_class.pk, other_pupil.pk])
    assert browser.post(path).status_code == 404
