"""Classes and their pupils: who is in which, what they sign in with, how much extra time they have."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.errors import NameTakenError, NotAllowedError
from accounts.models import Enrolment, School, SchoolClass, User, fold_name, new_class_code
from accounts.services.cards import Card, NewPupil, card_for, only_managers
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


def create_class(*, school: School, name: str, teachers: Iterable[User], by: User | None) -> SchoolClass:
    """A new class. A teacher who makes one takes it. Raises NameTakenError."""
    if by is not None and (by.school_id != school.pk or not (by.is_teacher or by.is_administrator)):
        raise NotAllowedError("Only a teacher or the administrator of the school makes its classes.")
    with _class_name_differs(name), transaction.atomic():
        school_class = SchoolClass.objects.create(school=school, name=name)
        school_class.teachers.set(_of_staff(teachers, school))
        _changed(school_class, by)
    log.info("class %s made", school_class.pk)
    return school_class


def update_class(*, school_class: SchoolClass, name: str, teachers: Iterable[User] | None, by: User) -> None:
    """Rename a class; the administrator also says who takes it (None: as before). Raises NameTakenError."""
    only_managers(by, school_class)
    with _class_name_differs(name), transaction.atomic():
        SchoolClass.objects.filter(pk=school_class.pk).update(name=name)
        if teachers is not None and by.is_administrator:
            school_class.teachers.set(_of_staff(teachers, school_class.school))
        _changed(school_class, by)


def archive_class(*, school_class: SchoolClass, by: User, at: datetime) -> None:
    """Put a class away: its pupils can no longer sign in with its code, its results stay."""
    only_managers(by, school_class)
    with transaction.atomic():
        if SchoolClass.objects.filter(pk=school_class.pk, archived_at__isnull=True).update(archived_at=at):
            _changed(school_class, by)


def restore_class(*, school_class: SchoolClass, by: User) -> None:
    only_managers(by, school_class)
    with transaction.atomic():
        if SchoolClass.objects.filter(pk=school_class.pk, archived_at__isnull=False).update(archived_at=None):
            _changed(school_class, by)


def renew_code(*, school_class: SchoolClass, by: User) -> str:
    """Give the class another code, for when the old one has got about."""
    only_managers(by, school_class)
    with transaction.atomic():
        school_class.code = new_class_code()
        school_class.save(update_fields=["code"])
        _changed(school_class, by)
    log.info("class %s has a new code", school_class.pk)
    return school_class.code


def add_pupils(*, school_class: SchoolClass, pupils: Iterable[NewPupil], by: User | None) -> list[Card]:
    """Add all of these pupils or none of them. Raises NameTakenError."""
    only_managers(by, school_class)
    cards = [card_for(pupil, school_class) for pupil in pupils]
    with _pupil_names_differ(), transaction.atomic():
        User.objects.bulk_create([card.pupil for card in cards])
        Enrolment.objects.bulk_create(
            Enrolment(school_class=school_class, pupil=card.pupil, folded_name=fold_name(card.pupil.name))
            for card in cards
        )
        record(Deed.PUPILS_ADDED, by=by, about={"class": school_class.pk, "pupils": len(cards)})
    log.info("%d pupils added to class %s", len(cards), school_class.pk)
    return cards


def update_pupil(*, pupil: User, name: str, extra_time: int, rest_breaks: bool, by: User) -> None:
    """Correct a pupil's name and set the extra time and breaks the school has agreed. Raises NameTakenError."""
    if not User.objects.pupils_managed_by(by).filter(pk=pupil.pk).exists():
        raise NotAllowedError("Only a pupil's teachers and the administrator change this.")
    with _pupil_names_differ(), transaction.atomic():
        User.objects.filter(pk=pupil.pk).update(name=name, extra_time=extra_time, rest_breaks=rest_breaks)
        Enrolment.objects.filter(pupil=pupil).update(folded_name=fold_name(name))
        record(Deed.PUPIL_CHANGED, by=by, about={"pupil": pupil.pk})


def remove_pupil(*, school_class: SchoolClass, pupil: User, by: User) -> None:
    """Take a pupil out of a class. What the pupil did there is kept."""
    only_managers(by, school_class)
    with transaction.atomic():
        Enrolment.objects.filter(school_class=school_class, pupil=pupil).delete()
        record(Deed.PUPIL_REMOVED, by=by, about={"pupil": pupil.pk, "class": school_class.pk})
    log.info("pupil %s removed from class %s by %s", pupil.pk, school_class.pk, by.pk)


def _changed(school_class: SchoolClass, by: User | None) -> None:
    """Who takes a class sees its pupils, and its code lets them in: both are worth knowing of afterwards."""
    record(Deed.CLASS_CHANGED, by=by, about={"class": school_class.pk})


def _of_staff(teachers: Iterable[User], school: School) -> list[User]:
    return [person for person in teachers if person.school_id == school.pk and not person.is_pupil]


@contextmanager
def _class_name_differs(name: str) -> Iterator[None]:
    try:
        yield
    except IntegrityError as error:
        raise NameTakenError(f"Your school has a class called {name} already, perhaps an archived one.") from error


@contextmanager
def _pupil_names_differ() -> Iterator[None]:
    try:
        yield
    except IntegrityError as error:
        raise NameTakenError(
            "There is a pupil of this name in the class already. Add an initial, so that each can sign in."
        ) from error
