"""Questions to the database that gather what a page, a mark or an export needs, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from statistics import median
from typing import Any

from django.db.models import BooleanField, Count, ExpressionWrapper, F, Max, Prefetch, Q, QuerySet

from accounts.models import SchoolClass, User
from accounts.names import in_register_order
from assignments.marking import Act, Asked, Mistake, standings
from assignments.models import AssignedQuestion, Assignment, Event, ExtraTime, Feedback, Sitting, TimeChange
from assignments.moments import Moment
from assignments.querysets import SETTERS
from assignments.timekeeping import CLOCK_OF_ALL, Change, Kind, Stop, stops_in
from bank.models import Version

TIMED = 3  # assignments whose times are measured
TIMERS = 5  # pupils; the median of fewer tells little


def classes_to_send_to(user: User) -> QuerySet[SchoolClass]:
    """Return the classes a user may assign sets to: those taken, or for a head any of the school."""
    if user.role not in SETTERS:
        return SchoolClass.objects.none()
    return SchoolClass.objects.visible_to(user).current().annotate(pupils=Count("enrolments")).order_by("name")


def pupils_of(assignment: Assignment) -> QuerySet[User]:
    """Return the pupils an assignment is for: those of its class, or its addressees among them."""
    pupils = User.objects.pupils().filter(enrolments__school_class=assignment.school_class_id)
    if assignment.for_some:
        pupils = pupils.filter(pk__in=assignment.addressees.values("pupil"))
    return pupils


def in_class_or_among(school_class: SchoolClass, others: Iterable[int]) -> list[User]:
    """Return who is in a class, and these others (who have sat with it), by name."""
    found = User.objects.pupils().filter(Q(enrolments__school_class=school_class) | Q(pk__in=list(others)))
    return in_register_order(found.distinct())


def practisers_of(assignment: Assignment, by: User) -> set[int]:
    """Return the primary keys of the pupils to whom ``by`` may send practice after it: nobody who has left since."""
    if by.role not in SETTERS or assignment.school_class.archived_at is not None:
        return set()
    return set(pupils_of(assignment).values_list("pk", flat=True))


def may_go_again(assignment: Assignment) -> bool:
    """Return whether its set can be sent to its class once more: both are still in use."""
    return assignment.school_class.archived_at is None and assignment.question_set.retired_at is None


def sent_again(assignment: Assignment, pupils: Iterable[User]) -> dict[int, int]:
    """Return, by pupil, the assignment by which the same set went later to some of its class, these among them."""
    again = Assignment.objects.filter(question_set=assignment.question_set_id, school_class=assignment.school_class_id)
    later = again.filter(for_some=True, created_at__gt=assignment.created_at, addressees__pupil__in=pupils)
    return dict(later.order_by("created_at").values_list("addressees__pupil", "pk"))


def sent_to(pupil: User, *, by: User) -> QuerySet[Assignment]:
    """Return those of the assignments a user may see that the pupil may open."""
    return Assignment.objects.visible_to(by).filter(pk__in=Assignment.objects.visible_to(pupil).values("pk"))


def assignments_for_pupil(pupil: User) -> QuerySet[Assignment]:
    """Return the pupil's assignments with ``asked`` (a count), all their sittings, and in ``own_extra`` extra time.

    All sittings, not the pupil's alone: the last to run out of time decides when answers may be shown.
    """
    extra = ExtraTime.objects.filter(pupil=pupil)
    return (
        Assignment.objects.visible_to(pupil)
        .annotate(asked=Count("questions", filter=Q(questions__paper=1)))
        .prefetch_related(
            Prefetch("sittings", Sitting.objects.defer("paper")),
            Prefetch("extra_times", extra, to_attr="own_extra"),
        )
    )


# What came too late counts where the teacher said so, but never from when a pupil may have been told an answer
# (``feedback.is_due``): after the set closed, or at once where each question is told singly.
UNTOLD = Q(sitting__assignment__feedback=Feedback.NEVER) | Q(
    sitting__assignment__feedback=Feedback.AFTER_CLOSE, received_at__lt=F("sitting__assignment__closes_at")
)
IN_TIME = Q(is_late=False) | (Q(sitting__assignment__counts_late=True) & UNTOLD)

# Of a paper whose answers were typed in more than once, what was typed in last counts, all of it.
TYPED_LAST = Q(sitting__entered_at=None) | Q(epoch=F("sitting__epoch"))


def acts_of(sittings: Iterable[Sitting]) -> dict[int, list[Act]]:
    """Return what was done in each sitting, by its primary key; one query."""
    acts: dict[int, list[Act]] = defaultdict(list)
    rows = Event.objects.filter(TYPED_LAST, sitting__in=[sitting.pk for sitting in sittings]).order_by("epoch", "seq")
    late = ExpressionWrapper(~IN_TIME, output_field=BooleanField())
    told = rows.values_list("sitting", "question", "kind", "option", "epoch", "seq", Moment("received_at"), late)
    for row in told:
        acts[row[0]].append(Act._make(row[1:]))
    return acts


def ended_by_adult(assignment: Assignment) -> Callable[[Sitting], bool]:
    """Return what tells of a sitting that was not handed in whether an adult ended it, and not the clock (1 query).

    An adult did where the last word on its time is an end: then that is its deadline.
    """
    found = TimeChange.objects.filter(assignment=assignment, sitting__isnull=False, kind=Kind.END)
    ends = set(found.values_list("sitting", "at"))
    return lambda sitting: (sitting.pk, sitting.deadline) in ends


def changes_by_sitting(sittings: Iterable[Sitting]) -> dict[int, list[Change]]:
    """Return what moved the time of each sitting, in order, by the sitting's primary key (one query).

    What was done to a whole class moves by itself only where the clock was stopped or started for all; of the rest
    each sitting has an entry of its own.
    """
    sittings = list(sittings)
    found = TimeChange.objects.filter(assignment__in={sitting.assignment_id for sitting in sittings}).order_by("pk")
    entries = [entry for entry in found if entry.sitting_id is not None or entry.kind in CLOCK_OF_ALL]
    return {
        sitting.pk: [
            Change(entry.kind, entry.at, entry.seconds, entry.for_all)
            for entry in entries
            if entry.sitting_id == sitting.pk
            or (entry.sitting_id is None and entry.assignment_id == sitting.assignment_id)
        ]
        for sitting in sittings
    }


def stops_of(sittings: Iterable[Sitting]) -> dict[int, tuple[Stop, ...]]:
    """Return when the clock of each sitting stood, by its primary key; a query only if any ever did."""
    touched = [sitting for sitting in sittings if sitting.given or sitting.stopped_at]
    changes = changes_by_sitting(touched) if touched else {}
    return {
        sitting.pk: stops_in(sitting.started_at, sitting.allowance, sitting.extra_percent, changes[sitting.pk])
        for sitting in touched
    }


def last_seq(sitting: Sitting) -> int:
    """Return how far the device that may write has counted; 0 before it wrote anything."""
    return sitting.events.filter(epoch=sitting.epoch).aggregate(last=Max("seq"))["last"] or 0


def questions_of(assignment: Assignment) -> list[AssignedQuestion]:
    """Return the questions of an assignment in order, paper by paper, each with its version and its ruling."""
    return list(assignment.questions.select_related("version__question", "ruling").order_by("paper", "position"))


def as_asked(question: AssignedQuestion) -> Asked:
    """Return the question as marking needs it."""
    version = question.version
    ruled = question.ruling.accepts if question.ruling else None
    return Asked(question.pk, question.position, version.key, mistakes_behind(version), ruled)


def mistakes_behind(version: Version) -> dict[str, tuple[Mistake, ...]]:
    """Return the mistakes behind each option of a version, by its letter."""
    return mistakes_in(version.options)


def mistakes_in(options: Mapping[str, Any]) -> dict[str, tuple[Mistake, ...]]:
    """Return the same from an option set as a version stores it."""
    return {
        option["label"]: tuple(Mistake(one["kind"], one["fold"], one["says"]) for one in option["mistakes"])
        for option in options["options"]
    }


def last_running_deadline(assignment: Assignment) -> datetime | None:
    """Return when time runs out for the last pupil who has not finished; ``None`` if all have, or none began."""
    running = [sitting for sitting in assignment.sittings.all() if not sitting.was_handed_in]
    return max((sitting.deadline for sitting in running), default=None)


def median_seconds(versions: Iterable[Version]) -> dict[int, float]:
    """Return the median time spent on each of these versions, by its primary key, where enough pupils spent any.

    Taken from the newest assignments that ask one of them (a fixed number of queries, whatever was ever sat).
    """
    asked = AssignedQuestion.objects.filter(version__in=[version.pk for version in versions])
    sat = Sitting.objects.filter(entered_at=None)
    newest = asked.filter(assignment__in=sat.values("assignment")).values_list("assignment", flat=True)
    assignments = list(newest.order_by("-assignment").distinct()[:TIMED])
    version_of = dict(asked.filter(assignment__in=assignments).values_list("pk", "version"))
    sittings = list(sat.filter(assignment__in=assignments))
    acts, stops = acts_of(sittings), stops_of(sittings)
    spent: dict[int, list[float]] = defaultdict(list)
    for sitting in sittings:
        for question_id, standing in standings(acts[sitting.pk], sitting.started_at, stops.get(sitting.pk, ())).items():
            if question_id in version_of and standing.seconds:
                spent[version_of[question_id]].append(standing.seconds)
    return {version_id: median(times) for version_id, times in spent.items() if len(times) >= TIMERS}
