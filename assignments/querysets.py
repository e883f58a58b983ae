"""Sets, assignments and sittings, narrowed to what a person may see or change. Views start from ``visible_to``."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.models import AnonymousUser
from django.db import models
from django.db.models import Case, Count, Exists, F, OuterRef, Q, When
from django.db.models.functions import Coalesce

from accounts.models import Enrolment, Role, SchoolClass, User

if TYPE_CHECKING:
    from assignments.models import Assignment, PrintOrder, QuestionSet, Sitting  # noqa: F401  (named in the bases below)

Person = User | AnonymousUser
SETTERS = (Role.TEACHER, Role.HEAD)  # who makes sets and sends them to classes


class QuestionSetQuerySet(models.QuerySet["QuestionSet"]):
    def visible_to(self, user: Person) -> QuestionSetQuerySet:
        """Return the sets of the user's school, shared by its adults; a pupil sees none."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(school=user.school_id)

    def managed_by(self, user: Person) -> QuestionSetQuerySet:
        """Return the sets the user may change: teachers and heads of department, all of their school."""
        return self.visible_to(user) if _sets_questions(user) else self.none()

    def with_counts(self) -> QuestionSetQuerySet:
        """Add ``asked`` and ``sent``: how many questions a set has, and how often it was assigned."""
        sent = Count("assignments", distinct=True) + Count("assigned_second", distinct=True)
        return self.annotate(asked=Count("entries", distinct=True), sent=sent)


class AssignmentQuerySet(models.QuerySet["Assignment"]):
    def visible_to(self, user: Person) -> AssignmentQuerySet:
        """Return assignments to the classes in view; a pupil keeps those sat in a class since left.

        What was sent to some of a class is there for those pupils only.
        """
        from assignments.models import Addressee  # models call this module

        if not user.is_authenticated:
            return self.none()
        in_class = Q(school_class__in=SchoolClass.objects.visible_to(user).values("pk"))
        if user.is_pupil:
            addressed = Addressee.objects.filter(assignment=OuterRef("pk"), pupil=user)
            mine = in_class & (Q(for_some=False) | Exists(addressed))
            return self.filter(mine | Q(pk__in=user.sittings.values("assignment")))
        return self.filter(in_class)

    def managed_by(self, user: Person) -> AssignmentQuerySet:
        """Return assignments the user may change: a teacher's to classes taken, a head's to any of the school."""
        return self.visible_to(user) if _sets_questions(user) else self.none()

    def for_list(self) -> AssignmentQuerySet:
        """Add ``asked``, ``sat`` and ``pupils``: how many questions, sittings, and pupils who sat or have still to.

        Whoever sat and has left the class since counts, and nobody else who has left, as on the page of results.
        """
        from assignments.models import Addressee, AssignedQuestion, Sitting  # models call this module

        sittings = Sitting.objects.filter(assignment=OuterRef("pk"))
        begun = Sitting.objects.filter(assignment=OuterRef(OuterRef("pk")), pupil=OuterRef("pupil"))
        addressed = Addressee.objects.filter(assignment=OuterRef(OuterRef("pk")), pupil=OuterRef("pupil"))
        waiting = Enrolment.objects.filter(~Exists(begun), school_class=OuterRef("school_class"))
        counted = self.annotate(
            asked=_count(AssignedQuestion.objects.filter(assignment=OuterRef("pk"), paper=1)),
            sat=_count(sittings),
            pupils=F("sat")
            + Case(When(for_some=True, then=_count(waiting.filter(Exists(addressed)))), default=_count(waiting)),
        )
        return counted.select_related("school_class").order_by("-opens_at", "-pk")

    def opening_between(self, first: datetime | None, last: datetime | None) -> AssignmentQuerySet:
        """Return assignments open at some time from ``first`` to ``last``; ``None`` leaves that end free."""
        found = self
        if first is not None:
            found = found.filter(closes_at__gt=first)
        return found if last is None else found.filter(opens_at__lt=last)


class SittingQuerySet(models.QuerySet["Sitting"]):
    def visible_to(self, user: Person) -> SittingQuerySet:
        """Return a pupil's own sittings, or for an adult those of the classes in view."""
        if not user.is_authenticated:
            return self.none()
        if user.is_pupil:
            return self.filter(pupil=user)
        return self.filter(assignment__school_class__in=SchoolClass.objects.visible_to(user).values("pk"))


class PrintOrderQuerySet(models.QuerySet["PrintOrder"]):
    def visible_to(self, user: Person) -> PrintOrderQuerySet:
        """Return what the user asked to have printed, nobody else's: the files bear pupils' names and keys."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self.filter(asked_by=user)


def _count(rows: models.QuerySet) -> Coalesce:
    """Count rows in a query of their own: joined side by side, questions, pupils and sittings would be multiplied."""
    counted = rows.order_by().values(one=models.Value(1)).annotate(count=Count("*")).values("count")
    return Coalesce(models.Subquery(counted), 0)


def _sets_questions(user: Person) -> bool:
    return user.is_authenticated and user.role in SETTERS
