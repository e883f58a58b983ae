"""Facts of single rows, and what the database itself refuses."""

from __future__ import annotations

import math
import re
import unicodedata

import pytest
from django.db import IntegrityError, transaction

from accounts.models import (
    CODE_FIGURES,
    CODE_LETTERS,
    Enrolment,
    Invitation,
    Role,
    SchoolClass,
    SignInFailure,
    User,
    fold_name,
    new_class_code,
)
from tests.factories import enrol, make_adult, make_class, make_pupil

pytestmark = pytest.mark.each_database


def test_class_code_has_letters_then_figures_without_look_alikes():
    for _ in range(200):
        code = new_class_code()
        assert re.fullmatch(r"[A-Z]{4}-[0-9]{4}", code)
        assert not set(code) & set("AEIOUL01")


def test_class_codes_are_too_many_to_try():
    """At the pace the locks leave to a guesser this is not a search anyone finishes."""
    assert math.log2(len(CODE_LETTERS) ** 4 * len(CODE_FIGURES) ** 4) > 29


def test_class_codes_differ():
    assert len({new_class_code() for _ in range(500)}) == 500


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Fenna", "fenna"),
        ("Fenna", "  Fenna "),
        ("Fenna K", "Fenna   K"),
        ("Zoë", unicodedata.normalize("NFD", "Zoë")),
        ("STRASSE", "straße"),
        ("Ａｌｄｉｎ", "Aldin"),
        ("ΣΊΣΥΦΟΣ", "σίσυφος"),
    ],
)
def test_names_that_fold_to_one(one, other):
    assert fold_name(one) == fold_name(other)


@pytest.mark.parametrize(("one", "other"), [("Fenna", "Fena"), ("Zoe", "Zoë"), ("Jo Anne", "Joanne")])
def test_names_that_stay_apart(one, other):
    assert fold_name(one) != fold_name(other)


def test_roles_are_told_apart(school):
    for role in Role:
        user = User(school=school, role=role)
        facts = [user.is_pupil, user.is_teacher, user.is_head, user.is_administrator]
        assert facts == [role == Role.PUPIL, role == Role.TEACHER, role == Role.HEAD, role == Role.ADMINISTRATOR]


def refused(deed):
    with pytest.raises(IntegrityError), transaction.atomic():
        deed()


def test_adult_without_email_is_refused(school):
    refused(lambda: User.objects.create(school=school, role=Role.TEACHER, name="Nobody"))


def test_pupil_with_email_is_refused(school):
    refused(lambda: User.objects.create(school=school, role=Role.PUPIL, name="P", email="p@school.example"))


def test_email_is_one_account_whatever_its_case(school):
    make_adult(school, email="edda@tarnlow.example")
    refused(lambda: make_adult(school, email="EDDA@tarnlow.example"))


def test_extra_time_over_300_is_refused(school):
    refused(lambda: make_pupil(school, extra_time=301))
    assert make_pupil(school, extra_time=300).extra_time == 300


def test_class_names_differ_in_a_school_only(school, other_school):
    make_class(school, "6 Larch")
    refused(lambda: make_class(school, "6 Larch"))
    make_class(other_school, "6 Larch")


def test_pupil_is_in_a_class_once(school_class, pupil):
    refused(lambda: enrol(pupil, school_class))


def test_names_differ_in_a_class_only(school, school_class, other_class, pupil):
    namesake = make_pupil(school, "FENNA")
    refused(lambda: enrol(namesake, school_class))
    enrol(namesake, other_class)


def test_adult_is_found_by_email_in_any_case(teacher):
    assert User.objects.get_by_natural_key("EDDA@Tarnlow.Example") == teacher


def test_rows_say_what_they_are(school, school_class, pupil, teacher, clock):
    enrolment = Enrolment.objects.get(pupil=pupil)
    failure = SignInFailure(at=clock())
    assert str(school) == "Tarnlow School"
    assert str(school_class) == "6 Larch"
    assert str(pupil) == "Fenna"
    assert str(enrolment) == "Fenna in 6 Larch"
    assert str(Invitation(user=teacher)) == "invitation of Edda Marlin"
    assert str(failure) == "failed sign-in at 2026-05-14 09:00"


def test_classes_come_by_name(school):
    for name in ("6 Rowan", "5 Alder", "6 Larch"):
        make_class(school, name)
    assert [school_class.name for school_class in SchoolClass.objects.all()] == ["5 Alder", "6 Larch", "6 Rowan"]
