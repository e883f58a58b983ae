"""The audit trail: who saw, changed or took away what, and when. Written once, never changed.

It holds numbers and words of its own alone: no name, answer, PIN or anything typed. Names are looked up when it is
shown, so that a pupil who has been erased has no name here either. Old entries end by the school's retention period.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, NoReturn

from django.db import models
from django.utils.timezone import now

if TYPE_CHECKING:
    from accounts.models import School, User


class Deed(models.TextChoices):
    """What can stand in the trail."""

    SIGNED_IN = "signed_in", "Signed in"
    SIGN_IN_REFUSED = "sign_in_refused", "Sign-in refused"
    PAGE_REFUSED = "page_refused", "Page refused"
    PASSWORD_SET = "password_set", "Set a password"
    RESULTS_SEEN = "results_seen", "Saw the results of a class"
    PUPIL_SEEN = "pupil_seen", "Opened a pupil’s details"
    PUPIL_RESULTS_SEEN = "pupil_results_seen", "Saw a pupil’s results"
    DATA_SEEN = "data_seen", "Saw all that is kept about a pupil"
    EXPORTED = "exported", "Took results away"
    DATA_EXPORTED = "data_exported", "Took away all that is kept about a pupil"
    TRAIL_EXPORTED = "trail_exported", "Took the audit trail away"
    CLASS_CHANGED = "class_changed", "Made or changed a class, its code or who takes it"
    PUPILS_ADDED = "pupils_added", "Added pupils"
    PUPIL_CHANGED = "pupil_changed", "Changed a pupil’s name, extra time or rest breaks"
    PUPIL_REMOVED = "pupil_removed", "Took a pupil out of a class"
    PUPILS_BROUGHT = "pupils_brought", "Brought pupils into a class"
    SET_ASSIGNED = "set_assigned", "Sent a set to a class"
    ASSIGNMENT_CHANGED = "assignment_changed", "Changed the closing time or allowance of a set, or took it back"
    TIME_CHANGED = "time_changed", "Changed the time of a sitting"
    MARKED_ANEW = "marked_anew", "Changed how a set is marked"
    ANSWERS_TYPED = "answers_typed", "Typed in answers given on paper"
    PINS_MADE = "pins_made", "Made PINs"
    LOCK_LIFTED = "lock_lifted", "Lifted a lock"
    ERASED = "erased", "Erased a pupil"
    QUESTIONS_EXPORTED = "questions_exported", "Took questions away"
    QUESTIONS_IMPORTED = "questions_imported", "Brought questions in"
    TAGS_CHANGED = "tags_changed", "Renamed, merged or deleted tags"
    PERIODS_SET = "periods_set", "Set how long records are kept"
    EXPIRED = "expired", "Removed what was past its time"
    STAFF_CHANGED = "staff_changed", "Opened or changed an account"
    STAFF_INVITED = "staff_invited", "Made a link to set a password with"
    STAFF_DISABLED = "staff_disabled", "Disabled an account"
    STAFF_ENABLED = "staff_enabled", "Let an account back in"
    FACTOR_SET = "factor_set", "Set up a second factor"
    PROVIDER_LINKED = "provider_linked", "First signed in by the school’s own sign-in"
    PROVIDER_UNLINKED = "provider_unlinked", "Unlinked the school’s own sign-in"
    PASSKEY_ADDED = "passkey_added", "Added a passkey"
    PASSKEY_REMOVED = "passkey_removed", "Removed a passkey"
    FACTOR_RESET = "factor_reset", "Removed a second factor"


class UnchangingError(TypeError):
    """Somebody tried to change or remove an entry of the trail."""


class EntryQuerySet(models.QuerySet["Entry"]):
    def visible_to(self, user: User) -> EntryQuerySet:
        """The school's own entries, for its administrator alone."""
        return self.filter(school=user.school_id) if user.is_administrator else self.none()

    def before(self, at: datetime) -> EntryQuerySet:
        return self.filter(at__lt=at)

    def forget(self) -> int:
        """Remove entries whose time is up: retention alone does this."""
        return super().delete()[0]

    def update(self, **_: Any) -> NoReturn:
        raise UnchangingError("Entries of the audit trail are not changed.")

    def delete(self) -> NoReturn:
        raise UnchangingError("Entries of the audit trail are removed by retention alone.")


class Entry(models.Model):
    """One deed. ``by`` is None where the clock did it, or nobody was signed in."""

    school = models.ForeignKey("accounts.School", on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey("accounts.User", null=True, on_delete=models.PROTECT, related_name="+")
    deed = models.CharField(max_length=24, help_text="a word of Deed")
    about = models.JSONField(default=dict, help_text='numbers by kind: {"pupil": 7, "class": 3}')
    at = models.DateTimeField()

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["school", "at"])]

    def __str__(self) -> str:
        return f"{self.deed} at {self.at:%Y-%m-%d %H:%M}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise UnchangingError("Entries of the audit trail are not changed.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise UnchangingError("Entries of the audit trail are removed by retention alone.")

    @property
    def says(self) -> str:
        return Deed(self.deed).label


def record(
    deed: Deed,
    *,
    by: User | None,
    about: Mapping[str, int] | None = None,
    at: datetime | None = None,
    school: School | None = None,
) -> None:
    """Write a deed down. ``about`` holds numbers by kind: of things, as ``{"pupil": 7}``, or how many.

    Unless given, the time is now and the school that of ``by``. A deed without either is not kept: a school set up
    by command.
    """
    school_id = school.pk if school else by.school_id if by else None
    if school_id is not None:
        Entry.objects.create(school_id=school_id, by=by, deed=deed, about=dict(about or {}), at=at or now())
