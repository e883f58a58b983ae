"""People and classes for tests, made as plainly as the database allows.

Passwords and PINs are unusable unless given: most tests sign in by force, and hashing takes time.
"""

from __future__ import annotations

from itertools import count

from django.utils import timezone

from accounts.models import Enrolment, Passkey, Role, School, SchoolClass, User, fold_name

_number = count(1)


def make_school(name: str = "") -> School:
    return School.objects.create(name=name or f"Tarn School {next(_number)}")


def make_adult(
    school: School, role: Role = Role.TEACHER, *, name: str = "", email: str = "", password: str | None = None
) -> User:
    number = next(_number)
    return User.objects.create_adult(
        school=school,
        role=role,
        email=email or f"adult{number}@school.example",
        name=name or f"Adult {number}",
        password=password,
    )


def make_pupil(school: School, name: str = "", *, pin: str | None = None, extra_time: int = 0) -> User:
    pupil = User(school=school, role=Role.PUPIL, name=name or f"Pupil {next(_number)}", extra_time=extra_time)
    pupil.set_password(pin)
    pupil.save()
    return pupil


def make_passkey(user: User) -> Passkey:
    """A passkey that nobody holds; ``tests/accounts/soft_passkey.py`` has those that sign."""
    credential = next(_number).to_bytes(16)
    return Passkey.objects.create(
        user=user, name="Laptop", credential=credential, public_key=b"", sign_count=0, since=timezone.now()
    )


def make_class(
    school: School, name: str = "", *, teachers: tuple[User, ...] = (), pupils: tuple[User, ...] = ()
) -> SchoolClass:
    school_class = SchoolClass.objects.create(school=school, name=name or f"Class {next(_number)}")
    school_class.teachers.add(*teachers)
    for pupil in pupils:
        enrol(pupil, school_class)
    return school_class


def enrol(pupil: User, school_class: SchoolClass) -> Enrolment:
    return Enrolment.objects.create(school_class=school_class, pupil=pupil, folded_name=fold_name(pupil.name))
