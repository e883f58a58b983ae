"""A year on: pupils of one class brought into another, with their PINs and all they have answered."""

from __future__ import annotations

import logging
from collections.abc import Collection, Sequence

from django.db import IntegrityError, transaction

from accounts.errors import NameTakenError, NotAllowedError
from accounts.models import Enrolment, SchoolClass, User
from accounts.queries import clashing_names
from accounts.services.cards import only_managers
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


def bring_pupils(*, source: SchoolClass, target: SchoolClass, pupils: Collection[User], leave: bool, by: User) -> int:
    """Enrol these pupils of ``source`` in ``target`` too and, with ``leave``, take them out of ``source``.

    All of them or none; the answer is how many came in. Whoever is in ``target`` already stays there as before.
    Raises NameTakenError, which names those whose name another pupil of ``target`` has.
    """
    only_managers(by, source)
    only_managers(by, target)
    if target.archived_at is not None or source.school_id != target.school_id:
        raise NotAllowedError("Pupils are brought into a class of their own school that is in use.")
    try:
        with transaction.atomic():
            places = _places_of(pupils, source)
            arrived = _enrol(places, target)
            if leave:
                Enrolment.objects.filter(pk__in=[place.pk for place in places]).delete()
            record(Deed.PUPILS_BROUGHT, by=by, about={"class": target.pk, "pupils": arrived})
    except IntegrityError as error:
        raise NameTakenError(_names_clash(clashing_names(source, target, pupils), target)) from error
    log.info("%d pupils brought from class %s into class %s by %s", arrived, source.pk, target.pk, by.pk)
    return arrived


def _places_of(pupils: Collection[User], source: SchoolClass) -> list[Enrolment]:
    """The pupils' places in the class they come from; held, so that a move sent twice happens once."""
    places = Enrolment.objects.select_for_update().filter(school_class=source, pupil__in=[one.pk for one in pupils])
    return list(places.order_by("pk"))


def _enrol(places: Sequence[Enrolment], target: SchoolClass) -> int:
    here = set(Enrolment.objects.filter(school_class=target).values_list("pupil", flat=True))
    new = [
        Enrolment(school_class=target, pupil_id=place.pupil_id, folded_name=place.folded_name)
        for place in places
        if place.pupil_id not in here
    ]
    return len(Enrolment.objects.bulk_create(new))


def _names_clash(names: Sequence[str], target: SchoolClass) -> str:
    """Say who cannot come; nobody is named when the class has changed again since."""
    if not names:
        return f"Nobody was moved: {target.name} has just been changed. Look the pupils over again."
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    return (
        f"Nobody was moved: {target.name} has another pupil called {listed}. "
        "Add an initial to one of the two names, so that each can sign in."
    )
