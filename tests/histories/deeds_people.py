"""What is done to classes and their people; and time, which passes for all."""

from __future__ import annotations

from datetime import timedelta

from django.apps import apps
from django.db import models
from django.db.models import F

from accounts.models import Enrolment, Entry, User
from accounts.services import classes, erasure, moving, people, retention
from assignments.services import facilities
from assignments.services.clock import database_now
from assignments.timekeeping import NO_END
from tests.histories.life import Life


def add_pupil(life: Life) -> None:
    life.add_pupils(life.one(life.classes()), 1)


def change_pupil(life: Life) -> None:
    pupil = life.one(life.pupils())
    classes.update_pupil(
        pupil=pupil,
        name=life.name("Pupil") if life.maybe() else pupil.name,
        extra_time=life.lot.choice([0, 25, 50]),
        rest_breaks=life.maybe(),
        by=life.administrator,
    )


def move_pupils(life: Life) -> None:
    place = life.one(Enrolment.objects.filter(school_class__school=life.school))
    if life.maybe(0.4):
        classes.remove_pupil(school_class=place.school_class, pupil=place.pupil, by=life.administrator)
        return
    target = life.one(life.classes().exclude(pk=place.school_class_id))
    moving.bring_pupils(
        source=place.school_class, target=target, pupils=[place.pupil], leave=life.maybe(), by=life.administrator
    )


def erase(life: Life) -> None:
    pupil = life.one(life.pupils())
    erasure.erase_pupil(pupil=pupil, by=life.administrator, at=database_now())
    life.gone.add(pupil.name)


def change_class(life: Life) -> None:
    school_class = life.one(life.classes())
    deed = life.lot.randrange(4)
    if deed == 0:
        classes.update_class(school_class=school_class, name=life.name("Class"), teachers=None, by=life.administrator)
    elif deed == 1:
        teachers = life.some([life.teacher, life.colleague]) if life.maybe(0.8) else []
        classes.update_class(
            school_class=school_class, name=school_class.name, teachers=teachers, by=life.administrator
        )
    elif school_class.archived_at:
        classes.restore_class(school_class=school_class, by=life.administrator)
    else:
        classes.archive_class(school_class=school_class, by=life.administrator, at=database_now())


def new_class(life: Life) -> None:
    classes.create_class(school=life.school, name=life.name("Class"), teachers=[life.teacher], by=life.administrator)


def change_staff(life: Life) -> None:
    for one in User.objects.filter(school=life.school, is_active=False):
        people.enable(user=one, by=life.administrator)
        return
    people.disable(user=life.colleague, by=life.administrator)


def let_pass(life: Life) -> None:
    pass_time(timedelta(minutes=life.lot.choice([1, 5, 45, 300, 3000])))


def let_years_pass(life: Life) -> None:
    pass_time(timedelta(days=life.lot.choice([40, 400])))
    retention.carry_out(school=life.school, at=database_now())


def pass_time(span: timedelta) -> None:
    """All that has happened, and all that is to come, is so much earlier; the audit trail alone cannot be moved."""
    for model in apps.get_models():
        if model._meta.app_label not in ("accounts", "assignments", "bank") or model is Entry:
            continue
        moments = [one.name for one in model._meta.fields if isinstance(one, models.DateTimeField)]
        if {"opens_at", "closes_at"} <= set(moments):  # the database holds them in order
            model.objects.update(opens_at=F("opens_at") - span, closes_at=F("closes_at") - span)
            moments = [name for name in moments if name not in ("opens_at", "closes_at")]
        for name in moments:
            model.objects.filter(**{f"{name}__lt": NO_END}).update(**{name: F(name) - span})


def count_facilities(life: Life) -> None:
    facilities.count_facilities(school=life.school)


DEEDS = {
    add_pupil: 1,
    change_pupil: 2,
    move_pupils: 3,
    erase: 1,
    change_class: 2,
    new_class: 1,
    change_staff: 1,
    let_pass: 5,
    let_years_pass: 1,
    count_facilities: 1,
}
