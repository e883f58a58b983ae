"""The administrator looks after the adults of the school."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.errors import EmailTakenError, LastAdministratorError, NotAllowedError, OwnAccountError
from accounts.models import ProviderAccount, Role, User
from accounts.services import people, sign_in
from tests.accounts.conftest import PASSWORD, text_of
from tests.factories import make_adult

LIST, NEW = "/staff/", "/staff/new/"


@pytest.fixture
def administrator(administrator):
    """One who has been in: somebody invited alone is no administrator to rely on."""
    administrator.set_password(PASSWORD)
    administrator.save()
    return administrator


@pytest.fixture
def browser(client_of, administrator):
    return client_of(administrator)


def to(name, person):
    return reverse(f"accounts:{name}", args=[person.pk])


def fields(**other):
    return {"name": "Mabel Frost", "email": "mabel@tarnlow.example", "role": "teacher"} | other


def link_on(answer):
    return re.search(r'id="link"[^>]*value="http://testserver(/invitation/[\w-]+/)"', answer.content.decode())[1]


# --- the list -----------------------------------------------------------------------------------------------------


def test_the_list_shows_the_adults_of_the_school(browser, known_teacher, head, stranger, pupil):
    words = text_of(browser.get(LIST))
    assert "Edda Marlin edda@tarnlow.example Teacher not yet In use" in words
    assert "Ines Holt ines@tarnlow.example Head of department not yet Needs a new link" in words
    assert "Odo Finch" not in words
    assert "Fenna" not in words


def test_the_list_tells_a_good_link_from_a_spent_one(browser, teacher, administrator):
    def account() -> str:
        return text_of(browser.get(LIST)).split("Teacher not yet ")[1]

    people.invite(user=teacher, by=administrator, at=timezone.now())
    assert account().startswith("Invited")
    people.invite(user=teacher, by=administrator, at=timezone.now() - people.INVITATION_LASTS)
    assert account().startswith("Needs a new link")
    ProviderAccount.objects.create(user=teacher, issuer="https://id.example", subject="7", since=timezone.now())
    assert account().startswith("In use")


def test_disabled_adults_come_last(browser, known_teacher, other_teacher, administrator):
    people.disable(user=known_teacher, by=administrator)
    words = text_of(browser.get(LIST))
    assert words.index("Joss Arkle") < words.index("Edda Marlin")
    assert "Teacher not yet Disabled" in words


def test_the_number_of_queries_does_not_grow(browser, school, django_assert_num_queries):
    make_adult(school)
    browser.get(LIST)
    with django_assert_num_queries(5):
        browser.get(LIST)
    for _ in range(20):
        make_adult(school)
    with django_assert_num_queries(5):
        browser.get(LIST)


# --- new ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["teacher", "head", "administrator"])
def test_an_adult_is_invited_by_a_link(browser, school, role):
    answer = browser.post(NEW, fields(role=role))
    person = User.objects.get(email="mabel@tarnlow.example")
    assert (person.name, person.role, person.school) == ("Mabel Frost", role, school)
    assert not person.has_usable_password()
    assert "Send this link to Mabel Frost yourself: Creasemark sends no mail." in text_of(answer)
    assert "It works once, for 24 hours, and is shown only now." in text_of(answer)
    assert Client().get(link_on(answer)).status_code == 200


def test_the_page_says_who_may_do_what(browser):
    words = text_of(browser.get(NEW))
    assert "Makes questions and sets; looks after the classes they take." in words
    assert "Also sees every class and all results of the school." in words
    assert "Looks after staff and all classes, and sees results." in words


@pytest.mark.parametrize("email", ["edda@tarnlow.example", "EDDA@TARNLOW.EXAMPLE", "odo@millbeck.example"])
def test_an_address_with_an_account_is_refused(browser, teacher, stranger, email):
    answer = browser.post(NEW, fields(email=email))
    assert answer.status_code == 400
    assert "There is already an account with this e-mail address." in text_of(answer)
    assert 'id="id_email_error"' in answer.content.decode()
    assert 'value="Mabel Frost"' in answer.content.decode()


@pytest.mark.parametrize("role", ["pupil", "", "superuser"])
def test_no_other_role_can_be_given(browser, role):
    assert browser.post(NEW, fields(role=role)).status_code == 400
    assert not User.objects.filter(name="Mabel Frost").exists()


@pytest.mark.parametrize(
    "change", [{"name": ""}, {"name": "\u202e"}, {"email": "mabel"}, {"email": ""}, {"email": "a@b"}]
)
def test_what_cannot_be_understood_is_refused(browser, change):
    assert browser.post(NEW, fields(**change)).status_code == 400
    assert not User.objects.filter(role=Role.TEACHER).exists()


def test_fields_nobody_asked_for_change_nothing(browser, school, other_school):
    browser.post(NEW, fields(school=other_school.pk, password=PASSWORD, is_active="", extra_time="50"))
    person = User.objects.get(name="Mabel Frost")
    assert (person.school, person.extra_time, person.is_active) == (school, 0, True)
    assert not person.has_usable_password()


# --- edit ---------------------------------------------------------------------------------------------------------


def test_an_account_is_corrected(browser, teacher):
    answer = browser.post(to("staff_edit", teacher), fields(role="head"), follow=True)
    teacher.refresh_from_db()
    assert (teacher.name, teacher.email, teacher.role) == ("Mabel Frost", "mabel@tarnlow.example", "head")
    assert "Mabel Frost is saved." in text_of(answer)


def test_the_address_of_another_is_refused_and_nothing_changes(browser, teacher, head):
    answer = browser.post(to("staff_edit", teacher), fields(email="INES@tarnlow.example"))
    assert answer.status_code == 400
    assert "There is already an account with this e-mail address." in text_of(answer)
    assert "Edda Marlin" in text_of(answer)
    teacher.refresh_from_db()
    assert (teacher.name, teacher.email) == ("Edda Marlin", "edda@tarnlow.example")


def test_the_last_administrator_stays_one(browser, administrator):
    answer = browser.post(to("staff_edit", administrator), fields(role="teacher"))
    assert answer.status_code == 400
    assert "A school needs an administrator who can sign in. Make someone else one first" in text_of(answer)
    administrator.refresh_from_db()
    assert administrator.is_administrator


def test_with_another_administrator_one_may_step_down(browser, administrator, school):
    make_adult(school, Role.ADMINISTRATOR, password=PASSWORD)
    answer = browser.post(to("staff_edit", administrator), fields(role="teacher"), follow=True)
    administrator.refresh_from_db()
    assert administrator.is_teacher
    assert browser.get(LIST).status_code == 403
    assert answer.status_code == 200, "not sent on to a page that is no longer theirs"
    assert "Mabel Frost is saved." in text_of(answer)


def test_an_administrator_who_has_never_come_in_does_not_count(browser, administrator, school):
    """The link may have gone astray: the school would have nobody to make another."""
    invited = make_adult(school, Role.ADMINISTRATOR)
    answer = browser.post(to("staff_edit", administrator), fields(role="teacher"))
    assert answer.status_code == 400
    assert "wait until they have set a password" in text_of(answer)
    ProviderAccount.objects.create(user=invited, issuer="https://id.example", subject="7", since=timezone.now())
    assert browser.post(to("staff_edit", administrator), fields(role="teacher")).status_code == 302


def test_an_administrator_who_is_disabled_does_not_count(browser, administrator, school):
    other = make_adult(school, Role.ADMINISTRATOR, password=PASSWORD)
    people.disable(user=other, by=administrator)
    assert browser.post(to("staff_edit", administrator), fields(role="teacher")).status_code == 400


# --- disable, enable ----------------------------------------------------------------------------------------------


def test_an_adult_is_disabled_and_let_back_in_by_a_link(browser, known_teacher):
    answer = browser.post(to("staff_disable", known_teacher), follow=True)
    assert "Edda Marlin can no longer sign in, and is signed out everywhere." in text_of(answer)
    known_teacher.refresh_from_db()
    assert not known_teacher.is_active
    assert not known_teacher.has_usable_password()
    answer = browser.post(to("staff_enable", known_teacher))
    known_teacher.refresh_from_db()
    assert known_teacher.is_active
    assert Client().get(link_on(answer)).status_code == 200


def test_nobody_disables_themselves(browser, administrator, school):
    make_adult(school, Role.ADMINISTRATOR)
    assert "This is your own account." in text_of(browser.get(to("staff_edit", administrator)))
    answer = browser.post(to("staff_disable", administrator), follow=True)
    assert "You cannot disable your own account; another administrator can." in text_of(answer)
    administrator.refresh_from_db()
    assert administrator.is_active


def test_two_administrators_who_disable_each_other_leave_one(administrator, school):
    """The second is refused by what the first has left in the database, not by what was loaded before."""
    other = make_adult(school, Role.ADMINISTRATOR, password=PASSWORD)
    one, two = User.objects.get(pk=administrator.pk), User.objects.get(pk=other.pk)
    people.disable(user=other, by=one)
    with pytest.raises(LastAdministratorError):
        people.disable(user=administrator, by=two)
    administrator.refresh_from_db()
    assert administrator.is_active
    assert administrator.has_usable_password() == one.has_usable_password()


def test_a_new_link_replaces_the_old(browser, teacher):
    first = link_on(browser.post(to("staff_invite", teacher)))
    second = link_on(browser.post(to("staff_invite", teacher)))
    assert Client().get(first).status_code == 410
    assert Client().get(second).status_code == 200


# --- who may ------------------------------------------------------------------------------------------------------

PAGES = ["staff_edit", "staff_invite", "staff_disable", "staff_enable", "staff_lift_lock"]


@pytest.mark.parametrize("who", ["teacher", "head", "stranger", "pupil"])
def test_only_administrators_look_after_staff(request, client_of, who, teacher):
    browser = client_of(request.getfixturevalue(who))
    for path in (LIST, NEW):
        assert browser.get(path).status_code == 403
    for name in PAGES:
        assert browser.post(to(name, teacher), fields()).status_code == 403


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("whom", ["stranger", "pupil"])
def test_people_of_other_schools_and_pupils_are_not_there(request, browser, name, whom):
    person = request.getfixturevalue(whom)
    assert browser.post(to(name, person), fields()).status_code == 404
    person.refresh_from_db()
    assert person.is_active


@pytest.mark.parametrize("name", PAGES[1:])
def test_deeds_take_a_post(browser, teacher, name):
    assert browser.get(to(name, teacher)).status_code == 405


@pytest.mark.parametrize("who", ["teacher", "head", "stranger"])
def test_the_services_hold_the_rule_too(request, school, other_teacher, who, clock):
    by = request.getfixturevalue(who)
    for deed in (
        lambda: people.create_adult(school=school, role=Role.TEACHER, email="x@y.example", name="X", by=by),
        lambda: people.update_adult(user=other_teacher, name="X", email="x@y.example", role=Role.HEAD, by=by),
        lambda: people.invite(user=other_teacher, by=by, at=clock()),
        lambda: people.disable(user=other_teacher, by=by),
        lambda: people.enable(user=other_teacher, by=by),
    ):
        with pytest.raises(NotAllowedError, match=r"Only the school's administrator looks after its staff."):
            deed()


def test_an_administrator_of_another_school_lifts_no_lock(other_school, teacher, pupil):
    other = make_adult(other_school, Role.ADMINISTRATOR)
    for user in (teacher, pupil):
        with pytest.raises(NotAllowedError):
            sign_in.lift_lock(user=user, by=other)


def test_a_school_is_set_up_by_nobody_signed_in(db):
    school = people.create_school(name="Tarnlow School")
    person = people.create_adult(
        school=school, role=Role.ADMINISTRATOR, email="Rafe@Tarnlow.Example", name="Rafe", password=PASSWORD, by=None
    )
    assert (person.email, person.check_password(PASSWORD)) == ("rafe@tarnlow.example", True)
    with pytest.raises(EmailTakenError):
        people.create_adult(school=school, role=Role.HEAD, email="RAFE@tarnlow.example", name="R", by=None)


def test_the_service_does_not_let_one_disable_oneself(administrator):
    with pytest.raises(OwnAccountError):
        people.disable(user=administrator, by=administrator)
