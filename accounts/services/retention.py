"""How long a school keeps its records, and removing those whose time is up."""

from __future__ import annotations

import logging
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from accounts import holdings
from accounts.errors import NotAllowedError
from accounts.holdings import Kind
from accounts.models import RetentionPeriod, School, User
from accounts.services.erasure import clear_leftovers
from accounts.trail import Deed, record

log = logging.getLogger(__name__)

LONGEST = 120  # months


@dataclass(frozen=True)
class Planned:
    """What retention would do with records of a kind: remove the ``due`` ones from before ``before``."""

    kind: Kind
    months: int
    before: datetime
    due: int


def months_before(at: datetime, months: int) -> datetime:
    """The same day and time so many months ago; the last of the month where that has no such day."""
    year, month = divmod(at.year * 12 + at.month - 1 - months, 12)
    return at.replace(year=year, month=month + 1, day=min(at.day, monthrange(year, month + 1)[1]))


def periods_of(school: School) -> dict[str, int]:
    """Months by the key of each kind, as the school has set them or as suggested."""
    chosen = dict(RetentionPeriod.objects.filter(school=school).values_list("kind", "months"))
    return {kind.key: chosen.get(kind.key, kind.months) for kind in holdings.kinds()}


def plan(*, school: School, at: datetime, periods: Mapping[str, int] | None = None) -> list[Planned]:
    """What would be removed now, by the school's periods or by those given."""
    months = periods_of(school) | dict(periods or {})
    cut = {kind: months_before(at, months[kind.key]) for kind in holdings.kinds()}
    return [Planned(kind, months[kind.key], before, kind.due(school, before)) for kind, before in cut.items()]


def set_periods(*, school: School, periods: Mapping[str, int], by: User, at: datetime) -> None:
    """Set the periods; what they bring to an end goes when retention next runs, in the night."""
    if not by.is_administrator or by.school_id != school.pk:
        raise NotAllowedError("Only the school's administrator sets how long records are kept.")
    with transaction.atomic():
        for kind in holdings.kinds():
            RetentionPeriod.objects.update_or_create(
                school=school, kind=kind.key, defaults={"months": periods[kind.key]}
            )
        record(Deed.PERIODS_SET, by=by, at=at, about=periods)


def carry_out(*, school: School, at: datetime) -> dict[str, int]:
    """Remove what is past its time, each kind whole or not at all; answers how many of each are gone."""
    removed = {planned.kind.key: _remove(planned, school, at) for planned in plan(school=school, at=at)}
    transaction.on_commit(clear_leftovers)
    log.info("retention, school %s: %s", school.pk, removed)
    return removed


@transaction.atomic
def _remove(planned: Planned, school: School, at: datetime) -> int:
    count = planned.kind.remove(school, planned.before)
    if count:
        record(Deed.EXPIRED, by=None, at=at, school=school, about={planned.kind.key: count})
    return count
