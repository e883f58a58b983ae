"""Making, renaming and archiving a class, and giving it a new code."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.errors import NameTakenError, NotAllowedError
from accounts.models import SchoolClass
from accounts.services import classes
from tests.accounts.conftest import text_of
from tests.factories import make_class

NEW = "/classes/new/"


def to(name, school_class):
    return reverse(f"accounts:{name}", args=[school_class.pk])


# --- new ----------------------------------------------------------------------------------------------------------


def test_a_teacher_makes_a_class_and_takes_it(client_of, teacher):
    answer = client_of(teacher).post(NEW, {"name": "6 Larch"}, follow=True)
    made = SchoolClass.objects.get()
    assert list(made.teachers.all()) == [teacher]
    assert made.school == teacher.school
    assert answer.redirect_chain == [(to("class_detail", made), 302)]
    assert "6 Larch is ready. Now add its pupils." in text_of(answer)


def test_the_administrator_says_who_takes_it(client_of, administrator, teacher, head):
    client_of(administrator).post(NEW, {"name": "6 Larch", "teachers": [teacher.pk, head.pk]})
    assert set(SchoolClass.objects.get().teachers.all()) == {teacher, head}


def test_nobody_need_take_it_yet(client_of, administrator):
    client_of(administrator).post(NEW, {"name": "6 Larch"})
    assert not SchoolClass.objects.get().teachers.exists()


def test_a_teacher_cannot_put_others_in_charge(client_of, teacher, other_teacher):
    client_of(teacher).post(NEW, {"name": "6 Larch", "teachers": [other_teacher.pk]})
    assert list(SchoolClass.objects.get().teachers.all()) == [teacher]


@pytest.mark.parametrize("whom", ["stranger", "pupil"])
def test_only_adults_of_the_school_can_be_chosen(request, client_of, administrator, whom):
    person = request.getfixturevalue(whom)
    answer = client_of(administrator).post(NEW, {"name": "7 Ash", "teachers": [person.pk]})
    assert answer.status_code == 400
    assert "One of those ticked at “Who takes it” is not offered." in text_of(answer)
    assert not SchoolClass.objects.filter(name="7 Ash").exists()


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("", "Write a name."),
        ("   ", "Write a name."),
        ("\u202e", "Write a name."),
        ("x" * 61, "at most 60 characters; these are 61"),
        ("a\x00b", "This holds a character that no text has (U+0000)."),
        ("6 Larch", "Your school has a class called 6 Larch already, perhaps an archived one."),
        (" 6  Larch ", "Your school has a class called 6 Larch already, perhaps an archived one."),
    ],
)
def test_a_bad_name_is_refused_beside_its_field_and_stays(client_of, teacher, school_class, name, sentence):
    answer = client_of(teacher).post(NEW, {"name": name})
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert 'id="id_name_error"' in answer.content.decode()
    assert SchoolClass.objects.count() == 1
    if name.strip() and "\x00" not in name:
        assert name.strip()[:40] in answer.content.decode()


@pytest.mark.parametrize("name", ["7", "Year 6, set 2", "=1+1", "<b>6</b>", "六年一組", "6 Larch \N{EVERGREEN TREE}"])
def test_any_other_name_will_do(client_of, teacher, name):
    client_of(teacher).post(NEW, {"name": name})
    assert SchoolClass.objects.get().name == name


def test_another_school_may_use_the_name(client_of, stranger, school_class):
    assert client_of(stranger).post(NEW, {"name": "6 Larch"}).status_code == 302


@pytest.mark.parametrize("who", ["head", "pupil"])
def test_others_make_no_classes(request, client_of, who, school_class):
    browser = client_of(request.getfixturevalue(who))
    assert browser.get(NEW).status_code == 403
    assert browser.post(NEW, {"name": "7 Ash"}).status_code == 403


def test_the_service_holds_the_rule_too(school, head, stranger):
    for by in (head, stranger):
        with pytest.raises(NotAllowedError):
            classes.create_class(school=school, name="7 Ash", teachers=[by], by=by)


def test_people_of_other_schools_and_pupils_are_left_out(school, teacher, stranger, pupil):
    made = classes.create_class(school=school, name="7 Ash", teachers=[teacher, stranger, pupil], by=None)
    assert list(made.teachers.all()) == [teacher]


# --- edit ---------------------------------------------------------------------------------------------------------


def test_a_class_is_renamed(client_of, teacher, school_class):
    answer = client_of(teacher).post(to("class_edit", school_class), {"name": "6 Larch B"}, follow=True)
    school_class.refresh_from_db()
    assert school_class.name == "6 Larch B"
    assert list(school_class.teachers.all()) == [teacher]
    assert "The class is saved." in text_of(answer)


def test_saved_unchanged_it_stays_as_it_is(client_of, teacher, school_class):
    assert client_of(teacher).post(to("class_edit", school_class), {"name": "6 Larch"}).status_code == 302


def test_the_administrator_changes_who_takes_it(client_of, administrator, school_class, other_teacher):
    fields = {"name": "6 Larch", "teachers": [other_teacher.pk]}
    client_of(administrator).post(to("class_edit", school_class), fields)
    assert list(school_class.teachers.all()) == [other_teacher]


def test_a_teacher_is_not_asked_who_takes_it(client_of, teacher, school_class, other_teacher):
    browser = client_of(teacher)
    assert "Who takes it" not in text_of(browser.get(to("class_edit", school_class)))
    browser.post(to("class_edit", school_class), {"name": "6 Larch", "teachers": [other_teacher.pk]})
    assert list(school_class.teachers.all()) == [teacher]


def test_a_teacher_who_was_disabled_still_stands_among_the_choices(
    client_of, administrator, teacher, other_teacher, school_class
):
    for person in (teacher, other_teacher):
        person.is_active = False
        person.save()
    words = text_of(client_of(administrator).get(to("class_edit", school_class)))
    assert "Edda Marlin" in words
    assert "Joss Arkle" not in words


def test_the_name_of_another_class_is_refused(client_of, teacher, school_class, other_class):
    answer = client_of(teacher).post(to("class_edit", school_class), {"name": "6 Rowan"})
    assert answer.status_code == 400
    assert "Your school has a class called 6 Rowan already" in text_of(answer)
    school_class.refresh_from_db()
    assert school_class.name == "6 Larch"


def test_of_two_classes_named_alike_at_once_the_database_takes_one(school, teacher, monkeypatch):
    """Nothing is looked up beforehand: the unique name is the row's."""
    made = classes.create_class(school=school, name="7 Ash", teachers=[teacher], by=teacher)
    with pytest.raises(NameTakenError):
        classes.create_class(school=school, name="7 Ash", teachers=[teacher], by=teacher)
    assert list(SchoolClass.objects.filter(name="7 Ash")) == [made]


# --- archive, restore, code ---------------------------------------------------------------------------------------


def test_a_class_is_archived_and_used_again(client_of, teacher, school_class, pupil):
    browser = client_of(teacher)
    answer = browser.post(to("class_archive", school_class), follow=True)
    school_class.refresh_from_db()
    assert school_class.archived_at
    assert "6 Larch is archived. Its results are kept." in text_of(answer)
    answer = browser.post(to("class_restore", school_class), follow=True)
    school_class.refresh_from_db()
    assert school_class.archived_at is None
    assert school_class.enrolments.count() == 1
    assert "6 Larch is in use again." in text_of(answer)


def test_no_card_is_offered_for_a_class_put_away(client_of, teacher, school_class, pupil, clock):
    """Nobody signs in with its code: there is no page of its cards."""
    browser, cards = client_of(teacher), reverse("accounts:cards", args=[school_class.pk])
    pages = [reverse("accounts:pupil_edit", args=[pupil.pk]), reverse("accounts:class_detail", args=[school_class.pk])]
    assert all(cards in browser.get(page).content.decode() for page in pages)
    classes.archive_class(school_class=school_class, by=teacher, at=clock())
    for page in pages:
        words = browser.get(page).content.decode()
        assert cards not in words
        assert "Pupils sign in at" not in words
    assert browser.get(cards).status_code == 404


def test_archived_twice_keeps_the_first_time(teacher, school_class, clock):
    first = clock()
    classes.archive_class(school_class=school_class, by=teacher, at=first)
    classes.archive_class(school_class=school_class, by=teacher, at=clock.forward(days=1))
    school_class.refresh_from_db()
    assert school_class.archived_at == first


def test_a_new_code_replaces_the_old(client, client_of, teacher, card):
    old = card.school_class.code
    answer = client_of(teacher).post(to("class_code", card.school_class), follow=True)
    card.school_class.refresh_from_db()
    assert card.school_class.code != old
    assert f"The new class code is {card.school_class.code}." in text_of(answer)
    assert client.post("/pupil/", card.fields(code=old)).status_code == 400
    assert client.post("/pupil/", card.fields()).status_code == 302


DEEDS = ["class_archive", "class_restore", "class_code", "class_lift_lock"]


@pytest.mark.parametrize("deed", DEEDS)
def test_deeds_take_a_post(client_of, teacher, school_class, deed):
    assert client_of(teacher).get(to(deed, school_class)).status_code == 405


@pytest.mark.parametrize("deed", [*DEEDS, "class_edit"])
@pytest.mark.parametrize("who", ["other_teacher", "stranger", "head"])
def test_for_others_there_is_no_such_class(request, client_of, school_class, deed, who):
    answer = client_of(request.getfixturevalue(who)).post(to(deed, school_class), {"name": "Taken over"})
    assert answer.status_code == 404
    before = SchoolClass.objects.get(pk=school_class.pk)
    assert (before.name, before.code, before.archived_at) == ("6 Larch", school_class.code, None)


@pytest.mark.parametrize("who", ["other_teacher", "stranger", "head", "pupil"])
def test_the_services_hold_the_rule_too(request, school_class, who, clock):
    by = request.getfixturevalue(who)
    for deed in (
        lambda: classes.update_class(school_class=school_class, name="x", teachers=None, by=by),
        lambda: classes.archive_class(school_class=school_class, by=by, at=clock()),
        lambda: classes.restore_class(school_class=school_class, by=by),
        lambda: classes.renew_code(school_class=school_class, by=by),
        lambda: classes.add_pupils(school_class=school_class, pupils=[], by=by),
    ):
        with pytest.raises(NotAllowedError, match=r"^Only the teachers of a class and the administrator change it\.$"):
            deed()


def test_a_head_who_takes_the_class_may(client_of, head, school):
    taken = make_class(school, "6 Yew", teachers=(head,))
    assert client_of(head).post(to("class_edit", taken), {"name": "6 Yew B"}).status_code == 302
