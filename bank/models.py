"""Questions and their versions."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models

from accounts.models import School
from bank.asking import Ask
from bank.queries import (
    BatchQuerySet,
    ImportQuerySet,
    PictureQuerySet,
    QuestionQuerySet,
    SavedSearchQuerySet,
    VersionQuerySet,
)
from geometry.generation import LOT


class Tag(models.Model):
    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="tags")
    name = models.CharField(max_length=40)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["school", "name"], name="tag_names_differ_in_a_school")]

    def __str__(self) -> str:
        return self.name


class State(models.TextChoices):
    DRAFT = "draft", "Draft"
    READY = "ready", "Ready"
    RETIRED = "retired", "Retired"


class Question(models.Model):
    """A place in the bank. What is asked lives in its versions; ``current`` is the newest.

    ``level`` to ``mistakes`` are the current version's, kept here so that a bank of thousands is filtered and
    counted without reading through specs and options.
    """

    school = models.ForeignKey(School, on_delete=models.PROTECT, related_name="questions")
    number = models.PositiveIntegerField(help_text="counted within the school; what people call the question by")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    state = models.CharField(max_length=8, choices=State.choices, default=State.DRAFT)
    note = models.CharField(max_length=200, blank=True)
    tags = models.ManyToManyField(Tag, related_name="questions", blank=True)
    current = models.ForeignKey("Version", null=True, on_delete=models.PROTECT, related_name="+")
    origin = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="made_from_it",
        help_text="the question from which this one was made: as its variant, or as its sister drawn by lot",
    )
    level = models.PositiveSmallIntegerField(default=1)
    folds = models.PositiveSmallIntegerField(default=0)
    creases = models.CharField(max_length=40, default="", help_text="words, as bank.traits writes them")
    shapes = models.CharField(max_length=200, default="")
    mistakes = models.CharField(max_length=300, default="")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    objects = QuestionQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        indexes = [models.Index(fields=["school", "state", "level", "folds"], name="questions_by_their_filters")]
        constraints = [models.UniqueConstraint(fields=["school", "number"], name="question_numbers_differ_in_a_school")]

    def __str__(self) -> str:
        return f"Question {self.number}"


class Version(models.Model):
    """One wording of a question, never changed once made: an edit makes the next version.

    ``spec`` and ``options`` are JSON as ``geometry`` reads and writes them (``Spec.to_json``,
    ``OptionSet.to_json``); the rest is derived from them, kept so that lists need no geometry.
    """

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveSmallIntegerField()
    spec = models.JSONField()
    options = models.JSONField(help_text="the option set, its key and the mistake behind each wrong option")
    checks = models.JSONField(default=list)
    difficulty = models.JSONField(default=dict)
    level = models.PositiveSmallIntegerField(default=1)
    folds = models.PositiveSmallIntegerField(default=0)
    punches = models.PositiveSmallIntegerField(default=0)
    offered = models.PositiveSmallIntegerField(default=5, help_text="options: a draft may have fewer than five")
    fingerprint = models.CharField(max_length=64, db_index=True)
    folding = models.CharField(max_length=64, db_index=True, help_text="equal for the same folds")
    punched_at = models.JSONField(
        default=list, help_text="places of the punches, as geometry.fingerprints.Kin has them"
    )
    author = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = VersionQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["question", "number"], name="version_numbers_differ")]

    def __str__(self) -> str:
        return f"{self.question}, version {self.number}"

    @property
    def key(self) -> str:
        """The letter of the right option."""
        return self.options["key"]

    @property
    def is_guessable(self) -> bool:
        """True unless the set was drawn by lot, so that its pictures alone tell nothing."""
        return self.options["sets"] != LOT

    @property
    def failed_checks(self) -> list[dict[str, Any]]:
        """The checks that keep the version from being set, each with a sentence that says why."""
        return [check for check in self.checks if not check["ok"]]


class Picture(models.Model):
    """A rendered picture of a version. ``name`` is a keyed digest: it tells neither label, key nor mistake."""

    class Kind(models.TextChoices):
        STEM = "stem", "Stem"
        OPTION = "option", "Option"
        STEP = "step", "Step of the unfolding"
        THUMB = "thumb", "Stem in a list, with lines for a small size"

    version = models.ForeignKey(Version, on_delete=models.CASCADE, related_name="pictures")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    place = models.PositiveSmallIntegerField(
        help_text="frame of the stem or thumb, option (0 is A), or folds still folded"
    )
    name = models.CharField(max_length=64, unique=True)
    title = models.CharField(max_length=200)
    description = models.TextField(blank=True)
    svg = models.TextField()
    has_png = models.BooleanField(default=False)

    objects = PictureQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "place"]
        constraints = [models.UniqueConstraint(fields=["version", "kind", "place"], name="one_picture_of_each")]

    def __str__(self) -> str:
        return f"{self.kind} {self.place} of {self.version}"


class Batch(models.Model):
    """Questions asked of the generator, looked through, and then saved or let go. Seen by whoever asked, for some days.

    ``place`` and ``tries`` say how far the drawing is: they move on by conditional updates, so that it does not matter
    who draws, nor whether two do at once.
    """

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="+")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    asked_at = models.DateTimeField()
    ask = models.JSONField(help_text="as bank.asking.Ask writes it")
    wanted = models.PositiveSmallIntegerField()
    origin = models.ForeignKey(
        Question,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="+",
        help_text="the question from which these are made",
    )
    place = models.PositiveSmallIntegerField(default=1, help_text="the place to be drawn next; past wanted: none")
    tries = models.PositiveSmallIntegerField(default=0, help_text="how often drawing for that place came to nothing")
    gaps = models.JSONField(default=list, help_text="places for which nothing was found")
    why = models.TextField(blank=True, default="", help_text="what stood in the way of more")
    queued = models.BooleanField(default=False, help_text="a worker was asked; else the page has it drawn bit by bit")
    moved_at = models.DateTimeField(help_text="when the drawing last got on")
    ended_at = models.DateTimeField(null=True, blank=True)
    stopped = models.BooleanField(default=False)
    saved_at = models.DateTimeField(null=True, blank=True)

    objects = BatchQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.wanted} questions of {self.asked_at:%Y-%m-%d %H:%M}"

    def shown(self) -> list[Candidate]:
        """The newest candidate of each place: in the order of places while they are drawn, then as asked for."""
        newest = {candidate.place: candidate for candidate in self.candidates.order_by("place", "turn")}
        easiest_first = self.ended_at is not None and Ask.from_json(self.ask).is_rising
        return sorted(newest.values(), key=lambda c: (-c.facility if easiest_first else 0, c.place))


class Candidate(models.Model):
    """A question made for a place of a batch, not yet in the bank. Of a place the greatest ``turn`` is shown."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="candidates")
    place = models.PositiveSmallIntegerField()
    turn = models.PositiveSmallIntegerField(default=0, help_text="0 as first drawn; a replacement has the next number")
    content = models.JSONField(help_text="what its version will hold, as bank.services.questions.content_of gives it")
    pictures = models.JSONField(help_text='SVG: {"stem": [...], "options": [...]}')
    level = models.PositiveSmallIntegerField()
    facility = models.FloatField()
    fingerprint = models.CharField(max_length=64)
    kinds = models.JSONField(help_text="the mistakes behind its wrong options")
    kept = models.BooleanField(default=True)
    made_at = models.DateTimeField(auto_now_add=True)
    question = models.ForeignKey(Question, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["place", "turn"]
        constraints = [models.UniqueConstraint(fields=["batch", "place", "turn"], name="one_candidate_a_turn")]

    def __str__(self) -> str:
        return f"{self.place} of {self.batch}"


class Import(models.Model):
    """A file of questions that was looked over: what would happen, until its person has it done or leaves it.

    ``found`` has a row for each question of the file; ``content`` has what would be saved, worked out here.
    """

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField()
    found = models.JSONField(help_text='[{"place": 3, "number": 41, "outcome": "refused", "says": "..."}]')
    content = models.JSONField(help_text="what is saved of each new question, by its place")
    taken_at = models.DateTimeField(null=True)
    taken = models.JSONField(default=list, help_text="the numbers that the questions were given")

    objects = ImportQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{len(self.found)} questions looked over, {self.at:%Y-%m-%d %H:%M}"


class SavedSearch(models.Model):
    """A search of the bank that somebody goes back to: the address's query under a name of their own."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="saved_searches")
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=2000)

    objects = SavedSearchQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["by", "name"], name="saved_searches_have_a_name_each")]

    def __str__(self) -> str:
        return self.name
