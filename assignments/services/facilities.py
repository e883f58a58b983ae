"""How the questions of a school were answered, counted from all its sittings and kept for the bank's search."""

from __future__ import annotations

from collections import defaultdict

from django.db import transaction

from accounts.models import School
from assignments.answer_tables import tables_of
from assignments.models import Assignment, Facility

AT_ONCE = 50  # assignments whose answers are held in memory together


def count_facilities(*, school: School) -> int:
    """Count anew; return how many versions were sat. Sittings that still run are left out, as in all figures."""
    sat: dict[int, int] = defaultdict(int)
    right: dict[int, int] = defaultdict(int)
    assigned = list(Assignment.objects.filter(school_class__school=school).values_list("pk", flat=True))
    for start in range(0, len(assigned), AT_ONCE):
        for table in tables_of(Assignment.objects.filter(pk__in=assigned[start : start + AT_ONCE])):
            for item, answered in zip(table.items, table.right.sum(axis=0).tolist(), strict=True):
                sat[item.version] += len(table.chosen)
                right[item.version] += answered
    counted = [Facility(version_id=pk, sittings=n, share=right[pk] / n) for pk, n in sat.items() if n]
    with transaction.atomic():
        Facility.objects.filter(version__question__school=school).delete()
        Facility.objects.bulk_create(
            counted,
            batch_size=200,
            update_conflicts=True,  # two counts at once: the later one stands
            unique_fields=["version"],
            update_fields=["sittings", "share"],
        )
    return len(counted)
