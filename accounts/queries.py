"""What the pages of people and classes ask the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from accounts import pins
from accounts.models import Enrolment, Invitation, ProviderAccount, SchoolClass, SignInFailure, User, fold_name
from accounts.names import in_register_order, register_key
from accounts.pupil_lists import PupilList, Row
from accounts.throttle import PER_ADULT, PER_CLASS, PER_PUPIL, Limit


@dataclass(frozen=True)
class PupilFacts:
    """A pupil as the class page shows one. ``locked_until`` is None when the pupil may sign in."""

    pupil: User
    has_pin: bool
    locked_until: datetime | None


@dataclass(frozen=True)
class PlannedRow:
    """A row of a list and what would happen to it: it is added, is in the class already, or has a fault."""

    row: Row
    is_here: bool = False

    @property
    def is_good(self) -> bool:
        return not (self.is_here or self.row.fault)


@dataclass(frozen=True)
class Arrival:
    """A pupil who might be brought into a class: is in it already, or has the name of another pupil there."""

    pupil: User
    is_here: bool
    clashes: bool

    @property
    def can_come(self) -> bool:
        return not (self.is_here or self.clashes)


def classes_listed(user: User, *, archived: bool) -> QuerySet[SchoolClass]:
    """Classes visible to the user, current or archived, with their teachers and ``pupil_count``."""
    classes = SchoolClass.objects.visible_to(user).filter(archived_at__isnull=not archived)
    return classes.annotate(pupil_count=Count("enrolments")).prefetch_related("teachers").order_by("name")


def pupils_of(school_class: SchoolClass, at: datetime) -> list[PupilFacts]:
    """The pupils of a class by name, each with PIN and lock; two queries, however many there are."""
    places = Enrolment.objects.filter(school_class=school_class).select_related("pupil")
    pupils = in_register_order(place.pupil for place in places)
    locks = locks_of(pupils, PER_PUPIL, at)
    return [PupilFacts(pupil, pins.is_kept(pupil.password), locks.get(pupil.pk)) for pupil in pupils]


def staff_listed(user: User, at: datetime) -> list[tuple[User, datetime | None]]:
    """The adults an administrator looks after, those who may come in first, each with the end of a lock.

    ``is_linked``: comes in by the school's own sign-in. ``has_link``: a link to set a password with is still good.
    """
    good = Invitation.objects.filter(user=OuterRef("pk"), used_at=None, expires_at__gt=at)
    linked = ProviderAccount.objects.filter(user=OuterRef("pk"))
    found = User.objects.staff_managed_by(user).annotate(is_linked=Exists(linked), has_link=Exists(good))
    staff = list(found.order_by("-is_active", "name", "pk"))
    locks = locks_of(staff, PER_ADULT, at)
    return [(person, locks.get(person.pk)) for person in staff]


def locks_of(people: Iterable[User], limit: Limit, at: datetime) -> dict[int, datetime]:
    """When each lock opens, by the number of the person; people who are not locked are not in it."""
    last_success = {person.pk: person.last_login for person in people}
    failures: dict[int, list[datetime]] = defaultdict(list)
    recent = SignInFailure.objects.filter(user__in=last_success, at__gt=at - limit.window)
    for pk, failed_at in recent.values_list("user", "at"):
        success = last_success[pk]
        if success is None or failed_at >= success:
            failures[pk].append(failed_at)
    locks = {pk: limit.locked_until(times, at) for pk, times in failures.items()}
    return {pk: until for pk, until in locks.items() if until is not None}


def class_locked_until(school_class: SchoolClass, at: datetime) -> datetime | None:
    """When the lock on a whole class opens, or None."""
    recent = SignInFailure.objects.filter(school_class=school_class, at__gt=at - PER_CLASS.window)
    return PER_CLASS.locked_until(recent.values_list("at", flat=True), at)


def plan_list(pupil_list: PupilList, school_class: SchoolClass) -> list[PlannedRow]:
    """What adding this list to the class would do, row by row."""
    here = set(school_class.enrolments.values_list("folded_name", flat=True))
    return [PlannedRow(row, not row.fault and fold_name(row.name) in here) for row in pupil_list.rows]


def pupils_to_bring(source: SchoolClass, target: SchoolClass) -> list[Arrival]:
    """The pupils of ``source`` by name, and for each whether ``target`` has room for the name."""
    here = dict(Enrolment.objects.filter(school_class=target).values_list("folded_name", "pupil"))
    places = Enrolment.objects.filter(school_class=source).select_related("pupil")
    return [
        Arrival(
            place.pupil,
            is_here=here.get(place.folded_name) == place.pupil_id,
            clashes=here.get(place.folded_name, place.pupil_id) != place.pupil_id,
        )
        for place in sorted(places, key=lambda place: register_key(place.pupil.name))
    ]


def clashing_names(source: SchoolClass, target: SchoolClass, pupils: Iterable[User]) -> list[str]:
    """The names, of these pupils of ``source``, that another pupil of ``target`` has."""
    chosen = {pupil.pk for pupil in pupils}
    return [one.pupil.name for one in pupils_to_bring(source, target) if one.clashes and one.pupil.pk in chosen]


def adults_of(user: User) -> QuerySet[User]:
    """All adults of the user's school, those who may no longer come in as well."""
    return User.objects.adults().filter(school=user.school_id).order_by("name", "pk")


def pupils_listed(user: User, *, asked: str, without_class: bool) -> list[User]:
    """The pupils of an administrator's school, with their classes; by a part of the name, or in no class."""
    found = User.objects.pupils_managed_by(user).prefetch_related("enrolments__school_class")
    if asked:
        found = found.filter(name__icontains=asked)
    return in_register_order(found.filter(enrolments__isnull=True) if without_class else found)


def staff_of(user: User) -> QuerySet[User]:
    """The adults of the user's school who may take a class: those who may come in, or take one already."""
    takes_one = Q(is_active=True) | Q(classes_taught__isnull=False)
    return User.objects.adults().filter(takes_one, school=user.school_id).distinct().order_by("name", "pk")
