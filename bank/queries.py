"""Questions to the database about questions. Every view starts from ``visible_to(user)``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet

if TYPE_CHECKING:
    from accounts.models import User
    from bank.models import Batch, Import, Picture, Question, SavedSearch, Version  # noqa: F401  (named in quotes below)

ORDERS = {
    "newest": ["-number"],
    "oldest": ["number"],
    "easiest": ["level", "-number"],
    "hardest": ["-level", "-number"],
}


class QuestionQuerySet(models.QuerySet["Question"]):
    def visible_to(self, user: User) -> QuestionQuerySet:
        """Return the bank of the user's school; a pupil sees none of it."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(school_id=user.school_id)

    def matching(self, text: str) -> QuestionQuerySet:
        """Return questions whose number is ``text``, or whose note or a tag contains it."""
        text = text.strip().removeprefix("#").strip()
        if not text:
            return self
        # Not one EXISTS a question: the tags that fit are few, and are looked for once.
        tagged = self.model.tags.through.objects.filter(tag__name__icontains=text).values("question")
        found = Q(pk__in=tagged) | Q(note__icontains=text)
        if text.isascii() and text.isdigit() and len(text) < 10:
            found |= Q(number=int(text))
        return self.filter(found)

    def tagged(self, tags: Iterable[int]) -> QuestionQuerySet:
        """Return questions that carry every one of ``tags`` (primary keys)."""
        questions = self
        for tag in tags:
            carries = self.model.tags.through.objects.filter(question=OuterRef("pk"), tag=tag)
            questions = questions.filter(Exists(carries))
        return questions

    def in_order(self, order: str) -> QuestionQuerySet:
        return self.order_by(*ORDERS[order])

    def for_list(self) -> QuestionQuerySet:
        """Return questions with all that a row of the list shows, but for the pictures.

        Versions come by a query of their own, without their long columns: joined in, every version of a long
        bank would be carried through the sorting.
        """
        from bank.models import Version

        short = Version.objects.defer("spec", "options", "checks", "difficulty")
        return self.prefetch_related("tags", Prefetch("current", queryset=short))

    def offering(self, kind: str, *, most: int, looked_at: int = 3000) -> list[Question]:
        """Return the first ``most`` of these questions with an option that stands for this mistake and no other.

        What options stand for lies in JSON that databases search differently, so questions are read one by one.
        """
        found: list[Question] = []
        for question in self.select_related("current")[:looked_at].iterator(chunk_size=100):
            behind = [option["mistakes"] for option in question.current.options["options"]] if question.current else []
            if any({mistake["kind"] for mistake in made} == {kind} for made in behind):
                found.append(question)
                if len(found) == most:
                    break
        return found

    def counted_by(self, field: str) -> dict[Any, int]:
        """Return how many of these questions have each value of ``field``."""
        rows = self.order_by().values_list(field).annotate(count=Count("pk"))
        return {value: count for value, count in rows if value is not None}


class VersionQuerySet(models.QuerySet["Version"]):
    def visible_to(self, user: User) -> VersionQuerySet:
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(question__school_id=user.school_id)

    def lacking_pictures(self) -> VersionQuerySet:
        """Return versions of which a picture, or a picture's bitmaps, is missing.

        A version has a stem, its thumbs (no bitmaps) and an unfolding, each of one picture more than it has
        folds, and its options.
        """
        frames, options = models.F("folds") + 1, models.F("offered")
        drawn, done = Count("pictures"), Count("pictures", filter=Q(pictures__has_png=True))
        counted = self.annotate(drawn=drawn, done=done)
        return counted.filter(Q(drawn__lt=3 * frames + options) | Q(done__lt=2 * frames + options))


class PictureQuerySet(models.QuerySet["Picture"]):
    def visible_to(self, user: User) -> PictureQuerySet:
        """Return pictures an adult may fetch by name. Pupils get theirs inside the page of their sitting."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(version__question__school_id=user.school_id)


class BatchQuerySet(models.QuerySet["Batch"]):
    def visible_to(self, user: User) -> BatchQuerySet:
        """Return what the user asked for, nobody else's: it is not in the bank yet."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(asked_by=user)


class ImportQuerySet(models.QuerySet["Import"]):
    def visible_to(self, user: User) -> ImportQuerySet:
        """Return the files that the user looked over; nobody else's."""
        return self.filter(by=user) if user.is_authenticated and not user.is_pupil else self.none()


class SavedSearchQuerySet(models.QuerySet["SavedSearch"]):
    def visible_to(self, user: User) -> SavedSearchQuerySet:
        """Return the user's own searches."""
        return self.filter(by=user) if user.is_authenticated and not user.is_pupil else self.none()


def numbers_by_fingerprint(school_id: int) -> dict[str, int]:
    """Return the number of the question that asks what a fingerprint stands for, the oldest if several do."""
    from bank.models import Question

    rows = Question.objects.filter(school_id=school_id, current__isnull=False).order_by("-number")
    return dict(rows.values_list("current__fingerprint", "number"))


def tags_with_counts(questions: QuerySet[Question]) -> dict[int, int]:
    """Return how many of ``questions`` carry each tag, by the tag's primary key."""
    through = questions.model.tags.through.objects
    rows = through.filter(question__in=questions.order_by()).values_list("tag").annotate(Count("pk"))
    return dict(rows)


@dataclass(frozen=True)
class Uses:
    """In how many sets a question stands, and how many times one of its versions was assigned to a class."""

    sets: int = 0
    assigned: int = 0


def uses_of(questions: Iterable[Question]) -> dict[int, Uses]:
    """Return the uses of each question by its primary key (one query).

    Sets belong to another room; they are reached by the names under which they point here.
    """
    from bank.models import Question

    wanted = [question.pk for question in questions]
    rows = (
        Question.objects.filter(pk__in=wanted)
        .order_by()
        .annotate(
            sets=Count("set_entries", filter=Q(set_entries__question_set__retired_at=None), distinct=True),
            times=Count("versions__assigned", distinct=True),
        )
        .values_list("pk", "sets", "times")
    )
    return {pk: Uses(sets, times) for pk, sets, times in rows}


def sets_with(question: Question) -> list[Any]:
    """Return the sets, not retired, in which the question stands."""
    entries = question.set_entries.filter(question_set__retired_at=None).select_related("question_set")
    return [entry.question_set for entry in entries.order_by("question_set__title")]
