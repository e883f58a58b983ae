"""The block that says where the demonstration is and who can sign in, true at the time it is printed."""

from __future__ import annotations

from collections.abc import Iterator

from django.urls import reverse

from accounts import pins
from accounts.models import School, SchoolClass, User
from config.demo.people import ADULTS, password, pin_of

SHOWN = 3  # pupils of each class
RULE = "-" * 72


def cards(*, school: School, address: str) -> str:
    lines = [
        RULE,
        f"Creasemark is at {address}/  (Ctrl+C stops it; what you do in it is kept)",
        f"{school.name}, its people and their answers are invented.",
        "",
        f"Adults sign in at {address}{reverse('accounts:sign_in')}",
        *_adults(school),
        "",
        f"Pupils sign in at {address}{reverse('accounts:pupil_sign_in')} with class code, name and PIN",
        *_pupils(school),
        RULE,
    ]
    return "\n".join(lines)


def _adults(school: School) -> Iterator[str]:
    """E-mail address and password of each adult of the demonstration who still has them."""
    word = password()
    emails = [email for _, _, email in ADULTS]
    for person in User.objects.filter(school=school, email__in=emails, is_active=True).order_by("pk"):
        says = word if person.check_password(word) else "(the password has been changed)"
        yield f"  {person.get_role_display():<22} {person.email:<38} {says}"


def _pupils(school: School) -> Iterator[str]:
    for school_class in SchoolClass.objects.filter(school=school, archived_at=None):
        pupils = User.objects.filter(enrolments__school_class=school_class, is_active=True).order_by("name")
        known = ((pupil.name, pin_of(pupil.name), pupil.password) for pupil in pupils)
        valid = (f"{name} {pin}" for name, pin, kept in known if pins.is_right(pin, kept))
        shown = [text for text, _ in zip(valid, range(SHOWN), strict=False)]
        if shown:
            yield f"  {school_class.name:<10} {school_class.code}   {',  '.join(shown)}"
