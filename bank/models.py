"""Questions and their versions."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models

from accounts.models import School
from bank.queries import PictureQuerySet, QuestionQuerySet, VersionQuerySet


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

    ``level`` and ``folds`` are the current version's, kept here so that a bank of thousands is filtered and
    counted without reading through specs and options.
    """

    school = models.ForeignKey(School, on_delete=models.PROTECT, related_name="questions")
    number = models.PositiveIntegerField(help_text="counted within the school; what people call the question by")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    state = models.CharField(max_length=8, choices=State.choices, default=State.DRAFT)
    note = models.CharField(max_length=200, blank=True)
    tags = models.ManyToManyField(Tag, related_name="questions", blank=True)
    current = models.ForeignKey("Version", null=True, on_delete=models.PROTECT, related_name="+")
    level = models.PositiveSmallIntegerField(default=1)
    folds = models.PositiveSmallIntegerField(default=0)
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
