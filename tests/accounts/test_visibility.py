"""Who sees and who changes which classes and people: the querysets every view starts from."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser

from accounts.models import Role, SchoolClass, User
from tests.factories import enrol, make_adult, make_class, make_pupil, make_school

pytestmark = pytest.mark.each_database

# who: classes seen, classes changed, pupils seen, pupils changed
TABLE = {
    "teacher": (["school_class"], ["school_class"], ["pupil"], ["pupil"]),
    "other_teacher": (["other_class"], ["other_class"], ["other_pupil"], ["other_pupil"]),
    "head": (["school_class", "other_class"], [], ["pupil", "other_pupil"], []),
    "administrator": (
        ["school_class", "other_class"],
        ["school_class", "other_class"],
        ["pupil", "other_pupil"],
        ["pupil", "other_pupil"],
    ),
    "pupil": (["school_class"], [], ["pupil"], []),
    "other_pupil": (["other_class"], [], ["other_pupil"], []),
    "stranger": (["foreign_class"], ["foreign_class"], ["foreign_pupil"], ["foreign_pupil"]),
}
CAST = ["school_class", "other_class", "foreign_class", "pupil", "other_pupil", "foreign_pupil"]


@pytest.fixture
def cast(request, school_class, other_class, foreign_class, pupil, other_pupil, foreign_pupil):
    return {name: request.getfixturevalue(name) for name in CAST}


def named(cast, names):
    return {cast[name] for name in names}


@pytest.mark.parametrize("who", TABLE)
def test_classes_seen(request, cast, who):
    user = request.getfixturevalue(who)
    assert set(SchoolClass.objects.visible_to(user)) == named(cast, TABLE[who][0])


@pytest.mark.parametrize("who", TABLE)
def test_classes_changed(request, cast, who):
    user = request.getfixturevalue(who)
    assert set(SchoolClass.objects.managed_by(user)) == named(cast, TABLE[who][1])


@pytest.mark.parametrize("who", TABLE)
def test_pupils_seen(request, cast, who):
    user = request.getfixturevalue(who)
    assert set(User.objects.pupils_visible_to(user)) == named(cast, TABLE[who][2])


@pytest.mark.parametrize("who", TABLE)
def test_pupils_changed(request, cast, who):
    user = request.getfixturevalue(who)
    assert set(User.objects.pupils_managed_by(user)) == named(cast, TABLE[who][3])


def test_nobody_signed_in_sees_nothing(cast):
    nobody = AnonymousUser()
    assert not SchoolClass.objects.visible_to(nobody).exists()
    assert not SchoolClass.objects.managed_by(nobody).exists()
    assert not User.objects.pupils_visible_to(nobody).exists()
    assert not User.objects.pupils_managed_by(nobody).exists()
    assert not User.objects.staff_managed_by(nobody).exists()


def test_head_who_takes_a_class_changes_that_one(head, school_class, other_class, pupil, other_pupil):
    other_class.teachers.add(head)
    assert list(SchoolClass.objects.managed_by(head)) == [other_class]
    assert list(User.objects.pupils_managed_by(head)) == [other_pupil]
    assert set(User.objects.pupils_visible_to(head)) == {pupil, other_pupil}


def test_pupil_of_two_classes_is_seen_once_and_by_both_teachers(teacher, other_teacher, pupil, other_class):
    enrol(pupil, other_class)
    assert list(User.objects.pupils_visible_to(teacher)) == [pupil]
    assert list(User.objects.pupils_visible_to(other_teacher)) == [pupil]


def test_teacher_of_two_classes_sees_each_pupil_once(teacher, pupil, school_class, school):
    second = make_class(school, teachers=(teacher,))
    enrol(pupil, second)
    assert list(User.objects.pupils_visible_to(teacher)) == [pupil]
    assert set(SchoolClass.objects.visible_to(teacher)) == {school_class, second}


def test_class_with_two_teachers_is_seen_once(teacher, other_teacher, school_class):
    school_class.teachers.add(other_teacher)
    assert list(SchoolClass.objects.visible_to(teacher)) == [school_class]
    assert list(SchoolClass.objects.visible_to(other_teacher)) == [school_class]


def test_teacher_who_moved_school_loses_the_old_classes(teacher, school_class):
    teacher.school = make_school()
    teacher.save()
    assert not SchoolClass.objects.visible_to(teacher).exists()
    assert not SchoolClass.objects.managed_by(teacher).exists()


def test_only_the_administrator_looks_after_staff(administrator, teacher, head, pupil, stranger):
    assert set(User.objects.staff_managed_by(administrator)) == {administrator, teacher, head}
    for user in (teacher, head, pupil, stranger):
        assert not User.objects.staff_managed_by(user).exists()


def test_pupils_and_adults_part_everyone(school):
    adults = {make_adult(school, role) for role in Role if role != Role.PUPIL}
    pupils = {make_pupil(school)}
    assert set(User.objects.adults()) == adults
    assert set(User.objects.pupils()) == pupils


def test_current_leaves_out_archived_classes(school_class, other_class, clock):
    SchoolClass.objects.filter(pk=other_class.pk).update(archived_at=clock())
    assert list(SchoolClass.objects.current()) == [school_class]


@pytest.mark.parametrize("who", ["teacher", "head", "administrator", "pupil"])
def test_querysets_chain(request, who, school_class):
    user = request.getfixturevalue(who)
    found = SchoolClass.objects.filter(name="6 Larch").visible_to(user).current().order_by("pk")
    assert list(found) == [school_class]
