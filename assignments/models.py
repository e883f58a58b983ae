"""Sets of questions, their assignment to classes, and what pupils did with them."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models

from accounts.models import School, SchoolClass
from assignments.papers import titled
from assignments.querysets import AssignmentQuerySet, PrintOrderQuerySet, QuestionSetQuerySet, SittingQuerySet
from assignments.timekeeping import NO_END, UNTIMED, Kind, Reckoned, time_up
from bank.models import Question, Version

User = settings.AUTH_USER_MODEL
GRACE = timedelta(seconds=5)  # for a choice made in time that was still on its way at the deadline


class QuestionSet(models.Model):
    """An ordered list of questions. It holds questions, not versions: versions are fixed when it is assigned."""

    school = models.ForeignKey(School, on_delete=models.PROTECT, related_name="question_sets")
    title = models.CharField(max_length=80)
    author = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = QuestionSetQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return self.title


class SetEntry(models.Model):
    question_set = models.ForeignKey(QuestionSet, on_delete=models.CASCADE, related_name="entries")
    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="set_entries")
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["question_set", "question"], name="a_question_is_in_a_set_once")]

    def __str__(self) -> str:
        return f"{self.position}. {self.question}"


class Feedback(models.TextChoices):
    NOW = "now", "After each question"
    AFTER_CLOSE = "after_close", "After the set has closed"
    NEVER = "never", "Never"


class Assignment(models.Model):
    """A set sent to a class: when it may be started, how long it lasts, what the pupil is told."""

    question_set = models.ForeignKey(QuestionSet, on_delete=models.PROTECT, related_name="assignments")
    second_set = models.ForeignKey(  # Paper 2, where neighbours are to have different questions
        QuestionSet, null=True, on_delete=models.PROTECT, related_name="assigned_second"
    )
    school_class = models.ForeignKey(SchoolClass, on_delete=models.PROTECT, related_name="assignments")
    title = models.CharField(max_length=80, help_text="the set's title when it was assigned")
    assigned_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    opens_at = models.DateTimeField()
    closes_at = models.DateTimeField()
    allowance = models.PositiveIntegerField(help_text="seconds, before extra time")
    question_seconds = models.PositiveIntegerField(
        null=True, blank=True, help_text="limit for each question from when it is first seen, before extra time"
    )
    closing_cuts = models.BooleanField(default=False, help_text="closing time also ends running sittings")
    shuffle_questions = models.BooleanField(default=False)
    shuffle_options = models.BooleanField(default=False)
    feedback = models.CharField(max_length=12, choices=Feedback.choices, default=Feedback.AFTER_CLOSE)
    corrects_guessing = models.BooleanField(default=False, help_text="marks are shown corrected for guessing")
    counts_late = models.BooleanField(default=False, help_text="what came too late counts, if nobody was told by then")
    for_some = models.BooleanField(default=False, help_text="only for its addressees, not the whole class")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = AssignmentQuerySet.as_manager()

    class Meta:
        ordering = ["-opens_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(closes_at__gt=models.F("opens_at")),
                name="an_assignment_closes_after_it_opens",
            ),
            models.CheckConstraint(condition=models.Q(allowance__gt=0), name="an_assignment_allows_time"),
        ]

    def __str__(self) -> str:
        return f"{self.title}, {self.school_class}"

    @property
    def is_untimed(self) -> bool:
        """Whether pupils may take as long as they like: until the closing time, which then ends sittings."""
        return self.allowance >= UNTIMED

    @property
    def papers(self) -> int:
        """How many papers it has. Each pupil gets one of them; the same places of all are as hard."""
        return 1 if self.second_set_id is None else 2

    def is_open(self, at: datetime) -> bool:
        return self.opens_at <= at < self.closes_at


class AssignedQuestion(models.Model):
    """A version fixed at a place of an assignment: what every pupil is asked who has this paper."""

    assignment = models.ForeignKey(Assignment, on_delete=models.CASCADE, related_name="questions")
    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="assigned")
    paper = models.PositiveSmallIntegerField(default=1, db_default=1)
    position = models.PositiveSmallIntegerField()
    ruling = models.ForeignKey(
        "Ruling", null=True, on_delete=models.RESTRICT, related_name="+", help_text="the last one, which counts"
    )

    class Meta:
        ordering = ["paper", "position"]
        constraints = [
            models.UniqueConstraint(fields=["assignment", "paper", "position"], name="one_question_in_a_place")
        ]

    def __str__(self) -> str:
        return f"{self.assignment}: {self.paper}.{self.position}"

    @property
    def accepts(self) -> str:
        """The letters that count as right: the key, or as was ruled; "" for a question left out of the marks."""
        return self.ruling.accepts if self.ruling else self.version.key


class Ruling(models.Model):
    """What somebody decided about a question found faulty, appended and never changed."""

    question = models.ForeignKey(AssignedQuestion, on_delete=models.CASCADE, related_name="rulings")
    accepts = models.CharField(max_length=5, blank=True, help_text="letters that count as right; none leaves it out")
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.question}: {self.says}"

    @property
    def says(self) -> str:
        """The decision in words."""
        if not self.accepts:
            return "left out of the marks"
        if len(self.accepts) > 1:
            return f"{' and '.join(self.accepts)} count as right"
        return f"{self.accepts} alone counts as right"


class Addressee(models.Model):
    """A pupil to whom an assignment goes that is for some of the class only, as practice is, or has several papers."""

    assignment = models.ForeignKey(Assignment, on_delete=models.CASCADE, related_name="addressees")
    pupil = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    paper = models.PositiveSmallIntegerField(default=1, db_default=1, help_text="which one the pupil is to have")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["assignment", "pupil"], name="a_pupil_is_addressed_once")]

    def __str__(self) -> str:
        return f"{self.assignment}, for {self.pupil}"


class ExtraTime(models.Model):
    """A pupil's extra time for one assignment, where it differs from what is agreed for the pupil."""

    assignment = models.ForeignKey(Assignment, on_delete=models.CASCADE, related_name="extra_times")
    pupil = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    percent = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["assignment", "pupil"], name="one_extra_time_per_pupil")]

    def __str__(self) -> str:
        return f"{self.percent} % for {self.pupil}"


class Sitting(models.Model):
    """One pupil's go at an assignment. Its paper, time and order are fixed when it starts."""

    assignment = models.ForeignKey(Assignment, on_delete=models.PROTECT, related_name="sittings")
    pupil = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sittings")
    started_at = models.DateTimeField()
    allowance = models.PositiveIntegerField(help_text="seconds, extra time included")
    extra_percent = models.PositiveSmallIntegerField(default=0)
    # What the changes of its time come to (timekeeping.reckon), kept so that no answer waits for the sum.
    given = models.DurationField(default=timedelta(0), help_text="time on top of the allowance; may be negative")
    stopped_at = models.DateTimeField(null=True, blank=True, help_text="since when its clock stands")
    stopped_until = models.DateTimeField(null=True, blank=True, help_text="when it runs on by itself")
    finished_at = models.DateTimeField(null=True, blank=True)
    epoch = models.PositiveIntegerField(default=1, help_text="counts the devices that opened it; the newest may write")
    seed = models.BigIntegerField(null=True, blank=True, help_text="by which its order was drawn; none on paper")
    paper = models.JSONField(
        help_text='[{"question": AssignedQuestion id, "order": "CADBE"}]: the questions as this pupil has them, '
        'and which option stands at A to E; with "paper": 2 where the class has several'
    )
    device = models.CharField(max_length=64, blank=True, default="", help_text="digest of the session that may write")
    entered_at = models.DateTimeField(null=True, blank=True, help_text="when answers given on paper were typed in")
    entered_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    objects = SittingQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["assignment", "pupil"], name="one_sitting_per_pupil")]

    def __str__(self) -> str:
        return f"{self.pupil}, {self.assignment}"

    @property
    def title(self) -> str:
        """What stands over the pupil's page: the set's title, and which paper it is where there are several."""
        return titled(self.assignment.title, self.paper)

    @property
    def deadline(self) -> datetime:
        """When time is up: computed, so that closing needs no timer (and cut by closing time if so set).

        Of one whose clock stands, the latest it can become.
        """
        due = self._due_after_stop()
        return min(due, self.assignment.closes_at) if self.assignment.closing_cuts else due

    @property
    def _due(self) -> datetime:
        return time_up(self.started_at, self.allowance, self.given)

    def _due_after_stop(self) -> datetime:
        if self.stopped_at is None or self.stopped_until is None:
            return self._due
        return NO_END if self.stopped_until == NO_END else self._due + (self.stopped_until - self.stopped_at)

    @property
    def is_on_paper(self) -> bool:
        """Whether it was sat on paper; then an adult typed its answers in, each time all of them in a new epoch."""
        return self.entered_at is not None

    @property
    def was_handed_in(self) -> bool:
        """Whether the pupil ended it. One that ran out of time has its deadline for an end, if any is written."""
        return self.is_on_paper or (self.finished_at is not None and self.finished_at < self.deadline)

    def ended_at(self, at: datetime) -> datetime | None:
        """When it ended, as seen at ``at``; ``None`` while it runs. The clock ends it, nobody need write so."""
        if self.finished_at is not None:
            return min(self.finished_at, self.deadline)
        return self.deadline if at > self.deadline else None

    def is_running(self, at: datetime) -> bool:
        return self.ended_at(at) is None

    def is_settled(self, at: datetime) -> bool:
        """Whether no further choice can count, one that is still on its way included."""
        return self.was_handed_in or at > self.deadline + GRACE

    def is_stopped(self, at: datetime) -> bool:
        """Whether its clock stands: a rest break, or the teacher has stopped it. The questions are hidden then."""
        if self.stopped_at is None or self.stopped_until is None or not self.is_running(at):
            return False
        return at < self.stopped_until

    @property
    def is_on_break(self) -> bool:
        """Of one whose clock stands: whether for a rest break, which ends by itself; else the teacher stopped it."""
        return self.stopped_until not in (None, NO_END)

    def seconds_left(self, at: datetime) -> int:
        if not self.is_running(at):
            return 0
        left = self.deadline - at
        if self.stopped_at is not None and self.is_stopped(at):
            left = min(left, self._due - self.stopped_at)
        return max(0, int(left.total_seconds()))

    def take(self, reckoned: Reckoned) -> None:
        """Take what its changes come to. Time on top lets one go on that had run out, not one handed in."""
        was_handed_in, before = self.was_handed_in, self.deadline
        self.given, self.stopped_at, self.stopped_until = reckoned
        if self.finished_at is not None and not was_handed_in and self.deadline > before:
            self.finished_at = None


class TimeChange(models.Model):
    """Something that was done to the time of a sitting, or of all of an assignment. Appended and never changed."""

    assignment = models.ForeignKey(Assignment, on_delete=models.CASCADE, related_name="time_changes")
    sitting = models.ForeignKey(
        Sitting, null=True, blank=True, on_delete=models.CASCADE, related_name="time_changes", help_text="none: all"
    )
    kind = models.CharField(max_length=8, choices=[(kind.value, kind.value) for kind in Kind])
    at = models.DateTimeField()
    seconds = models.PositiveIntegerField(default=0)
    for_all = models.BooleanField(default=False, help_text="one of many: everybody was given this")
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    had_ended_at = models.DateTimeField(null=True, blank=True, help_text="of one that was reopened")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.kind} at {self.at:%Y-%m-%d %H:%M}, {self.assignment}"


class Event(models.Model):
    """Something a pupil did, appended and never changed. The greatest (epoch, seq) of a question counts."""

    class Kind(models.TextChoices):
        CHOOSE = "choose", "Chose an option"
        FLAG = "flag", "Marked to look at again"
        UNFLAG = "unflag", "Took the mark away"
        LOCK = "lock", "Asked to be told, and may no longer change the choice"
        STRIKE = "strike", "Ruled an option out"
        UNSTRIKE = "unstrike", "Took that back"
        OPEN = "open", "Came to the question, where each has a limit"

    sitting = models.ForeignKey(Sitting, on_delete=models.CASCADE, related_name="events")
    question = models.ForeignKey(AssignedQuestion, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    option = models.CharField(max_length=1, blank=True, help_text="the version's own letter, whatever the order shown")
    client_id = models.UUIDField()
    epoch = models.PositiveIntegerField()
    seq = models.PositiveIntegerField()
    received_at = models.DateTimeField()
    is_late = models.BooleanField(default=False)

    class Meta:
        ordering = ["epoch", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["sitting", "client_id"], name="a_repeated_event_counts_once"),
            models.UniqueConstraint(fields=["sitting", "epoch", "seq"], name="events_have_an_order"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.option} in {self.sitting}"


class Facility(models.Model):
    """The share of sittings that answered a version rightly. It follows from the answers and is counted anew each hour
    (services.facilities), so that the bank can be searched by it."""

    version = models.OneToOneField(Version, on_delete=models.CASCADE, primary_key=True, related_name="+")
    sittings = models.PositiveIntegerField()
    share = models.FloatField()

    class Meta:
        indexes = [models.Index(fields=["share"], name="facility_share")]

    def __str__(self) -> str:
        return f"{self.share:.2f} of {self.sittings}"


class PrintOrder(models.Model):
    """What somebody asked to have printed: files are added to it as they are made. Seen by whoever asked, for a day."""

    question_set = models.ForeignKey(QuestionSet, on_delete=models.CASCADE, related_name="+")
    assignment = models.ForeignKey(Assignment, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    asked_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    asked_at = models.DateTimeField()
    choices = models.JSONField(help_text="as assignments.paper.orders.Choices writes them")
    wanted = models.PositiveSmallIntegerField(help_text="how many files it comes to")
    ended_at = models.DateTimeField(null=True, blank=True)
    failed = models.BooleanField(default=False)

    objects = PrintOrderQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.question_set}, {self.asked_at:%Y-%m-%d %H:%M}"


class PrintedFile(models.Model):
    """One PDF of an order. It lies in the database, so that it goes with the order and is nowhere else."""

    order = models.ForeignKey(PrintOrder, on_delete=models.CASCADE, related_name="files")
    place = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=160)
    pages = models.PositiveSmallIntegerField()
    pdf = models.BinaryField()

    class Meta:
        ordering = ["place"]
        constraints = [models.UniqueConstraint(fields=["order", "place"], name="a_file_is_made_once")]

    def __str__(self) -> str:
        return self.title
