"""What pages ask the audit trail."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.timezone import make_aware

from accounts import holdings
from accounts.models import Enrolment, School, User
from accounts.trail import Entry

NAMED = ("pupil", "class", "staff", "assignment")  # what an entry names by number; all else is how many


def deeds_about(pupil: User) -> QuerySet[Entry]:
    """Entries about the pupil, and those about a class the pupil is in as a whole."""
    classes = Enrolment.objects.filter(pupil=pupil).values_list("school_class", flat=True)
    of_classes = Q(about__class__in=list(classes)) & ~Q(about__has_key="pupil")
    return Entry.objects.filter(Q(about__pupil=pupil.pk) | of_classes, school=pupil.school_id)


def trail_of(user: User, chosen: Mapping[str, Any]) -> QuerySet[Entry]:
    """Entries visible to the user, newest first: by ``person``, ``deed``, and days from ``since`` to ``until``."""
    found = Entry.objects.visible_to(user).select_related("by")
    if chosen.get("person"):
        found = found.filter(by=chosen["person"])
    if chosen.get("deed"):
        found = found.filter(deed=chosen["deed"])
    if chosen.get("since"):
        found = found.filter(at__gte=make_aware(datetime.combine(chosen["since"], time.min)))
    if chosen.get("until"):
        found = found.filter(at__lt=make_aware(datetime.combine(chosen["until"] + timedelta(days=1), time.min)))
    return found


def with_names(school: School, entries: Iterable[Entry]) -> list[tuple[Entry, list[str]]]:
    """Each entry with what it is about, in words; one query for each kind of thing, however many entries."""
    entries = list(entries)
    numbers: dict[str, set[int]] = defaultdict(set)
    for entry in entries:
        for kind, number in entry.about.items():
            numbers[kind].add(number)
    names = {kind: holdings.names_of(kind, school, found) for kind, found in numbers.items()}
    return [(entry, [_in_words(kind, value, names) for kind, value in entry.about.items()]) for entry in entries]


def _in_words(kind: str, value: Any, names: Mapping[str, Mapping[int, str]]) -> str:
    """``6 Larch`` for a class; ``pupil 7, gone`` for one that is no more; ``12 sittings`` for a plain number."""
    if kind not in NAMED:
        return f"{value} {kind}"
    return names.get(kind, {}).get(value) or f"{kind} {value}, gone"
