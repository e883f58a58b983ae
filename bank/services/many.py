"""Deeds done to many questions at once: all of them, or none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from accounts.models import School
from bank.errors import TagError
from bank.models import Question, State, Tag
from bank.services.tags import MOST, read_tags, tag_many


@dataclass(frozen=True)
class Moved:
    """How many questions changed their state, and the numbers of those that could not, since a check fails."""

    count: int
    stuck: tuple[int, ...] = ()


@transaction.atomic
def change_tags(*, school: School, ids: Iterable[int], add: Iterable[str], remove: Iterable[int], at: datetime) -> int:
    """Give questions the tags ``add`` (names), take off them ``remove`` (keys), and return how many questions it was.

    Raises ``TagError``, naming the questions that would have too many; then nothing is changed.
    """
    added, taken = read_tags(add), set(remove)
    held = Question.objects.select_for_update().filter(school=school, pk__in=list(ids)).order_by("pk")
    numbers = dict(held.values_list("pk", "number"))
    through = Question.tags.through.objects.filter(question__in=list(numbers))
    through.filter(tag__in=Tag.objects.filter(school=school, pk__in=taken)).delete()
    tag_many(school=school, names=dict.fromkeys(numbers, added))
    counts = Counter(through.values_list("question", flat=True))
    if full := sorted(numbers[pk] for pk, count in counts.items() if count > MOST):
        raise TagError(f"A question has {MOST} tags at most. Too many would be on {_named(full)}. Nothing was changed.")
    held.update(changed_at=at)
    return len(numbers)


@transaction.atomic
def set_states(*, school: School, ids: Iterable[int], deed: str, at: datetime) -> Moved:
    """Make drafts ``ready``, ``retire`` whatever is not, or ``restore`` what is retired.

    Ready become only those that pass every check; of the retired those that do not come back as drafts.
    """
    held = Question.objects.select_for_update().filter(school=school, pk__in=list(ids)).order_by("pk")
    if deed == "retire":
        return Moved(held.exclude(state=State.RETIRED).update(state=State.RETIRED, changed_at=at))
    come_from = State.DRAFT if deed == "ready" else State.RETIRED
    rows = list(held.filter(state=come_from).values_list("pk", "number", "current__checks"))
    failing = {pk: number for pk, number, checks in rows if not checks or not all(check["ok"] for check in checks)}
    good = Question.objects.filter(pk__in=[pk for pk, _, _ in rows if pk not in failing])
    count = good.update(state=State.READY, changed_at=at)
    if deed == "ready":
        return Moved(count, tuple(sorted(failing.values())))
    return Moved(count + Question.objects.filter(pk__in=failing).update(state=State.DRAFT, changed_at=at))


def _named(numbers: list[int]) -> str:
    shown = ", ".join(map(str, numbers[:8]))
    return f"question{'s' if len(numbers) > 1 else ''} {shown}{' and others' if len(numbers) > 8 else ''}"
