"""Tidy the tags of a school: rename, merge, delete. What would change is worked out first; then all, or nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import School, User
from accounts.trail import Deed, record
from bank.errors import TagError
from bank.models import Question, Tag
from bank.queries import tags_with_counts
from bank.services.tags import read_tags


@dataclass(frozen=True)
class Plan:
    """What becomes of ``tags``, each with how many questions carry it: all one tag called ``name``, or none if "".

    ``there`` is the tag that has this name already and is not among them; ``together`` how many questions it will be.
    """

    tags: tuple[tuple[Tag, int], ...]
    name: str
    there: tuple[Tag, int] | None
    together: int

    @property
    def is_merge(self) -> bool:
        return bool(self.name) and len(self.tags) + bool(self.there) > 1

    @property
    def changes_nothing(self) -> bool:
        return not self.is_merge and self.name == self.tags[0][0].name


def plan(*, school: School, ids: Iterable[int], name: str) -> Plan:
    """Work out a renaming, a merging, or with no ``name`` a deletion. Raises ``TagError`` for what cannot be."""
    tags = list(Tag.objects.filter(school=school, pk__in=list(ids)))
    if not tags:
        raise TagError("Choose a tag first. Somebody may have merged or deleted it meanwhile.")
    name = _one(name)
    there = Tag.objects.filter(school=school, name=name).exclude(pk__in=[tag.pk for tag in tags]).first()
    concerned = [*tags, *([there] if there else [])]
    counts = tags_with_counts(Question.objects.filter(school=school))
    together = Question.objects.filter(school=school, tags__in=concerned).distinct().count()
    found = (there, counts.get(there.pk, 0)) if there else None
    return Plan(tuple((tag, counts.get(tag.pk, 0)) for tag in tags), name, found, together)


@transaction.atomic
def carry_out(*, school: School, ids: Iterable[int], name: str, by: User, at: datetime) -> Plan:
    """Do what ``plan`` says, as things are now, and write it into the trail; return what was done."""
    School.objects.select_for_update().get(pk=school.pk)
    made = plan(school=school, ids=ids, name=name)
    if made.changes_nothing:
        return made
    old = [tag for tag, _ in made.tags]
    if not made.name:
        Tag.objects.filter(pk__in=[tag.pk for tag in old]).delete()
    else:
        _gather(made.there[0] if made.there else next((t for t in old if t.name == made.name), old[0]), old, made.name)
    record(Deed.TAGS_CHANGED, by=by, about={"tags": len(old), "questions": made.together}, at=at)
    return made


def _gather(kept: Tag, old: list[Tag], name: str) -> None:
    """Hand every question of the old tags to the one that is kept, and let the others go."""
    through = Question.tags.through
    gone = [tag.pk for tag in old if tag.pk != kept.pk]
    carrying = through.objects.filter(tag__in=gone).values_list("question", flat=True).distinct()
    ties = [through(question_id=question, tag=kept) for question in carrying]
    through.objects.bulk_create(ties, ignore_conflicts=True, batch_size=1000)
    Tag.objects.filter(pk__in=gone).delete()
    try:
        with transaction.atomic():
            Tag.objects.filter(pk=kept.pk).update(name=name)
    except IntegrityError:
        raise TagError(f"Somebody has just made a tag “{name}”. Nothing was changed; look at it again.") from None


def _one(name: str) -> str:
    if "," in name:
        raise TagError("The name of a tag has no comma: commas part one tag from the next.")
    return next(iter(read_tags([name])), "")
