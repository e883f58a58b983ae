"""What this room holds about a pupil: the account, classes, sign-ins, and who had to do with it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from accounts import holdings, pins
from accounts.holdings import Holding, Kind, Part
from accounts.models import Enrolment, School, SchoolClass, SignInFailure, User
from accounts.services.sessions import end_sessions, forget_messages_with, sessions_of
from accounts.trail import Entry
from accounts.trail_queries import deeds_about


def held_about(pupil: User) -> Iterator[Part]:
    account = {
        "Number": pupil.pk,
        "Name": pupil.name,
        "School": pupil.school.name,
        "Role": pupil.get_role_display(),
        "Extra time, per cent": pupil.extra_time,
        "May take rest breaks": "yes" if pupil.rest_breaks else "no",
        "PIN": "kept as a hash" if pins.is_kept(pupil.password) else "none",
        "May sign in": "yes" if pupil.is_active else "no",
        "Written down": pupil.created_at,
        "Last signed in": pupil.last_login,
    }
    yield Part("The account", (account,))
    places = Enrolment.objects.filter(pupil=pupil).select_related("school_class").order_by("joined_at")
    yield Part("Classes", tuple({"Class": place.school_class.name, "Since": place.joined_at} for place in places))
    yield Part("Signed in now", tuple({"Until": session.expire_date} for session in sessions_of(pupil)))
    failures = SignInFailure.objects.filter(user=pupil).order_by("at").values_list("at", flat=True)
    yield Part("Sign-ins that failed, of the last day", tuple({"At": at} for at in failures))
    deeds = deeds_about(pupil).select_related("by")
    yield Part("Who saw, changed or took away what", tuple(map(_deed, deeds.order_by("at", "pk"))), stays=True)


def erase(pupil: User) -> None:
    end_sessions(pupil)
    forget_messages_with(pupil.name)
    pupil.delete()  # and with it places in classes and failed sign-ins


def _deed(entry: Entry) -> holdings.Row:
    who = entry.by.name if entry.by else "nobody signed in"
    concerns = "the pupil" if "pupil" in entry.about else "the class"
    return {"At": entry.at, "Who": who, "What": entry.says, "Concerned": concerns}


def _gone_pupils(school: School, before: datetime) -> QuerySet[User]:
    """Pupils in no class that is in use, who were written down and last signed in before the moment."""
    in_use = Enrolment.objects.filter(pupil=OuterRef("pk"), school_class__archived_at__isnull=True)
    quiet = Q(last_login__isnull=True) | Q(last_login__lt=before)
    return User.objects.pupils().filter(~Exists(in_use), quiet, school=school, created_at__lt=before)


def _erase_gone(school: School, before: datetime) -> int:
    gone = list(_gone_pupils(school, before))
    for pupil in gone:
        holdings.erase(pupil)
    return len(gone)


def _pupil_names(school: School, numbers: set[int]) -> dict[int, str]:
    return dict(User.objects.filter(school=school, pk__in=numbers).values_list("pk", "name"))


def _class_names(school: School, numbers: set[int]) -> dict[int, str]:
    return dict(SchoolClass.objects.filter(school=school, pk__in=numbers).values_list("pk", "name"))


HOLDING = Holding(
    held_about=held_about,
    erase=erase,
    kinds=(
        Kind(
            key="pupils",
            title="Pupils who are in no class any more",
            counted_from="the last sign-in",
            due=lambda school, before: _gone_pupils(school, before).count(),
            remove=_erase_gone,
        ),
        Kind(
            key="trail",
            title="Entries of the audit trail",
            counted_from="the deed",
            due=lambda school, before: Entry.objects.filter(school=school).before(before).count(),
            remove=lambda school, before: Entry.objects.filter(school=school).before(before).forget(),
        ),
    ),
    names={"pupil": _pupil_names, "staff": _pupil_names, "class": _class_names},
)
