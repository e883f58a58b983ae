"""People, schools and classes. Nothing here knows of questions."""

from __future__ import annotations

import secrets
import unicodedata
from typing import TYPE_CHECKING

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from accounts.trail import Entry as Entry  # a model of this app, in a module of its own

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser

CODE_LETTERS = "BCDFGHJKMNPQRSTVWXYZ"  # no vowels (no words), no I, L, O (no look-alikes)
CODE_FIGURES = "23456789"


def new_class_code() -> str:
    """A sign-in code like ``KTRW-4827``: 6.5e8 of them, so one cannot be guessed by trying."""
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(4))
    return letters + "-" + "".join(secrets.choice(CODE_FIGURES) for _ in range(4))


def fold_name(name: str) -> str:
    """The form in which two names are compared: one Unicode form, one case, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


class School(models.Model):
    name = models.CharField(max_length=120)

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    PUPIL = "pupil", "Pupil"
    TEACHER = "teacher", "Teacher"
    HEAD = "head", "Head of department"
    ADMINISTRATOR = "administrator", "School administrator"


class UserQuerySet(models.QuerySet["User"]):
    """People, narrowed to those a signed-in person may see or change. Anyone else is not there at all."""

    def pupils(self) -> UserQuerySet:
        return self.filter(role=Role.PUPIL)

    def adults(self) -> UserQuerySet:
        return self.exclude(role=Role.PUPIL)

    def pupils_visible_to(self, user: User | AnonymousUser) -> UserQuerySet:
        """Pupils a teacher takes; for the head and administrator all of the school; for a pupil, oneself."""
        return self._pupils_of(user, whole_school=(Role.HEAD, Role.ADMINISTRATOR))

    def pupils_managed_by(self, user: User | AnonymousUser) -> UserQuerySet:
        """Pupils whose name, PIN and extra time the person may change: as above, but a head only looks."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        return self._pupils_of(user, whole_school=(Role.ADMINISTRATOR,))

    def _pupils_of(self, user: User | AnonymousUser, *, whole_school: tuple[Role, ...]) -> UserQuerySet:
        if not user.is_authenticated:
            return self.none()
        pupils = self.pupils().filter(school=user.school_id)
        if user.role in whole_school:
            return pupils
        if user.is_pupil:
            return pupils.filter(pk=user.pk)
        taught = Enrolment.objects.filter(school_class__teachers=user, pupil=models.OuterRef("pk"))
        return pupils.filter(models.Exists(taught))

    def staff_managed_by(self, user: User | AnonymousUser) -> UserQuerySet:
        """The adults of the school, for its administrator alone."""
        if not user.is_authenticated or not user.is_administrator:
            return self.none()
        return self.adults().filter(school=user.school_id)


class UserManager(BaseUserManager.from_queryset(UserQuerySet)["User"]):  # type: ignore[misc]
    def get_by_natural_key(self, username: str | None) -> User:
        return self.get(email__iexact=username)

    def create_adult(self, *, school: School, role: Role, email: str, name: str, password: str | None) -> User:
        user = self.model(school=school, role=role, email=self.normalize_email(email), name=name)
        user.set_password(password)
        user.save()
        return user


class User(AbstractBaseUser):
    """An adult (signs in by e-mail and password) or a pupil (class code, name and PIN; no e-mail).

    A pupil's PIN is kept only as a hash, in the field that holds an adult's password hash.
    """

    school = models.ForeignKey(School, on_delete=models.PROTECT, related_name="people")
    role = models.CharField(max_length=16, choices=Role.choices)
    name = models.CharField(max_length=80)
    email = models.EmailField(max_length=254, null=True, blank=True, unique=True)
    extra_time = models.PositiveSmallIntegerField(default=0, help_text="per cent, as the school has agreed")
    rest_breaks = models.BooleanField(default=False, help_text="may stop the clock, as the school has agreed")
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    objects = UserManager()

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="one_account_per_email"),
            models.CheckConstraint(
                condition=models.Q(role=Role.PUPIL, email__isnull=True)
                | (~models.Q(role=Role.PUPIL) & models.Q(email__isnull=False)),
                name="adults_have_email_pupils_none",
            ),
            models.CheckConstraint(condition=models.Q(extra_time__lte=300), name="extra_time_at_most_300"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_pupil(self) -> bool:
        return self.role == Role.PUPIL

    @property
    def is_teacher(self) -> bool:
        return self.role == Role.TEACHER

    @property
    def is_head(self) -> bool:
        return self.role == Role.HEAD

    @property
    def is_administrator(self) -> bool:
        return self.role == Role.ADMINISTRATOR


class SchoolClassQuerySet(models.QuerySet["SchoolClass"]):
    """Classes, narrowed to those a signed-in person may see or change."""

    def current(self) -> SchoolClassQuerySet:
        return self.filter(archived_at__isnull=True)

    def visible_to(self, user: User | AnonymousUser) -> SchoolClassQuerySet:
        """Classes a teacher takes; all of the school for its head and administrator; those a pupil is in."""
        if not user.is_authenticated:
            return self.none()
        classes = self.filter(school=user.school_id)
        if user.is_pupil:
            return classes.filter(pk__in=Enrolment.objects.filter(pupil=user).values("school_class"))
        return classes if user.is_head or user.is_administrator else classes._taken_by(user)

    def managed_by(self, user: User | AnonymousUser) -> SchoolClassQuerySet:
        """Classes the person may change: an administrator any of the school, others those they take."""
        if not user.is_authenticated or user.is_pupil:
            return self.none()
        classes = self.filter(school=user.school_id)
        return classes if user.is_administrator else classes._taken_by(user)

    def _taken_by(self, user: User) -> SchoolClassQuerySet:
        return self.filter(pk__in=user.classes_taught.values("pk"))


class SchoolClass(models.Model):
    """A class of pupils, with the teachers who take it and the code its pupils sign in with."""

    school = models.ForeignKey(School, on_delete=models.PROTECT, related_name="classes")
    name = models.CharField(max_length=60)
    code = models.CharField(max_length=9, unique=True, default=new_class_code)
    teachers = models.ManyToManyField(User, related_name="classes_taught", blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    archived_at = models.DateTimeField(null=True, blank=True)

    objects = SchoolClassQuerySet.as_manager()

    class Meta:
        verbose_name = "class"
        verbose_name_plural = "classes"
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["school", "name"], name="class_names_differ_in_a_school")]

    def __str__(self) -> str:
        return self.name


class Enrolment(models.Model):
    """A pupil's place in a class. Names differ within a class, since a pupil signs in by name."""

    school_class = models.ForeignKey(SchoolClass, on_delete=models.CASCADE, related_name="enrolments")
    pupil = models.ForeignKey(User, on_delete=models.CASCADE, related_name="enrolments")
    folded_name = models.CharField(max_length=120, editable=False)
    joined_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["school_class", "pupil"], name="a_pupil_is_in_a_class_once"),
            models.UniqueConstraint(fields=["school_class", "folded_name"], name="names_differ_in_a_class"),
        ]

    def __str__(self) -> str:
        return f"{self.pupil} in {self.school_class}"


class SignInFailure(models.Model):
    """A failed attempt. Locks are counted from these rows: they hold in every process and need no timer."""

    school_class = models.ForeignKey(SchoolClass, null=True, on_delete=models.CASCADE)
    user = models.ForeignKey(User, null=True, on_delete=models.CASCADE)
    who = models.CharField(max_length=64, help_text="a keyed digest of the name or e-mail address typed")
    at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(fields=["user", "at"]),
            models.Index(fields=["school_class", "at"]),
            models.Index(fields=["who", "at"]),
        ]

    def __str__(self) -> str:
        return f"failed sign-in at {self.at:%Y-%m-%d %H:%M}"


class Invitation(models.Model):
    """A link by which a new adult sets a first password: random, used once, good for 24 hours."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="invitations")
    token_digest = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"invitation of {self.user}"


class ProviderAccount(models.Model):
    """Who an adult is to the school's own provider of sign-in (OpenID Connect), since first coming in that way.

    An e-mail address may go to another person there; the number (``sub``) may not (Core 1.0, section 2).
    """

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="provider_account")
    issuer = models.CharField(max_length=255)
    subject = models.CharField(max_length=255)
    since = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["issuer", "subject"], name="one_account_per_subject")]

    def __str__(self) -> str:
        return f"account of {self.user} at {self.issuer}"


class RetentionPeriod(models.Model):
    """How long a school keeps records of a kind; without a row, as long as is suggested."""

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="retention_periods")
    kind = models.CharField(max_length=24)
    months = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["school", "kind"], name="one_period_per_kind")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.months} months"


class SecondFactor(models.Model):
    """The shared key of an adult's code generator (TOTP, RFC 6238). A row is there once a code has been right.

    The key must be readable to work out the codes, unlike a password; whoever has the database has it.
    """

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="second_factor")
    key = models.BinaryField(max_length=20)
    since = models.DateTimeField()
    last_step = models.BigIntegerField(help_text="the 30 seconds of the last code that was right: none counts twice")

    def __str__(self) -> str:
        return f"second factor of {self.user}"


class Passkey(models.Model):
    """The public half of an adult's passkey (W3C Web Authentication): it tells a right answer and makes none.

    The private half, and what the device knows its owner by, never leave the device.
    """

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="passkeys")
    name = models.CharField(max_length=60, help_text="what the owner calls it")
    credential = models.BinaryField(
        max_length=1023, unique=True, help_text="its name among passkeys, given by its device"
    )
    public_key = models.BinaryField(max_length=2048)
    sign_count = models.BigIntegerField(help_text="how often it has signed; 0 for those that do not count")
    since = models.DateTimeField()
    last_used = models.DateTimeField(null=True)

    class Meta:
        ordering = ["since", "pk"]

    def __str__(self) -> str:
        return f"passkey of {self.user}"


class RecoveryCode(models.Model):
    """A code for when the generator or passkey is lost: kept as a hash, gone once it is used."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="recovery_codes")
    hashed = models.CharField(max_length=128)

    def __str__(self) -> str:
        return f"recovery code of {self.user}"
