"""What pupils sign in with: a card with the class code, the name and a PIN that is shown once."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from accounts import pins
from accounts.errors import NotAllowedError, StaleCardsError
from accounts.models import Enrolment, Role, SchoolClass, User
from accounts.names import in_register_order
from accounts.throttle import digest_of
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class NewPupil:
    """A pupil to add. ``extra_time`` in per cent; a ``pin`` is drawn unless given."""

    name: str
    extra_time: int = 0
    pin: str | None = None
    rest_breaks: bool = False


@dataclass(frozen=True)
class Card:
    """What a pupil signs in with. The PIN is known here alone: it is shown once and kept only as a hash."""

    pupil: User
    school_class: SchoolClass
    pin: str

    @property
    def spaced_pin(self) -> str:
        """The PIN in two groups of three, as it is read from a card; signing in ignores the space."""
        return f"{self.pin[:3]} {self.pin[3:]}"


def card_for(new: NewPupil, school_class: SchoolClass) -> Card:
    pin = new.pin or pins.new_pin()
    pupil = User(
        school=school_class.school,
        role=Role.PUPIL,
        name=new.name,
        extra_time=new.extra_time,
        rest_breaks=new.rest_breaks,
        password=pins.hash_pin(pin),
    )
    return Card(pupil, school_class, pin)


def issue_pins(*, school_class: SchoolClass, pupils: Sequence[User], seen: str | None, by: User) -> list[Card]:
    """New PINs for these pupils of the class. The old ones, and sessions begun with them, end.

    ``seen`` is the ``state_of_pins`` the request was made in (None: whatever it is). Sent twice, a request
    would make the cards just printed worthless, so it raises StaleCardsError instead.
    """
    only_managers(by, school_class)
    new = {pupil.pk: pins.new_pin() for pupil in pupils}
    hashed = {pk: pins.hash_pin(pin) for pk, pin in new.items()}
    with transaction.atomic():
        places = Enrolment.objects.filter(school_class=school_class, pupil__in=new)
        here = User.objects.filter(pk__in=places.values("pupil")).order_by("name", "pk")
        found = list(here.select_for_update())
        if seen is not None and seen != state_of_pins(school_class):
            raise StaleCardsError("These PINs have been made anew since the page was opened.")
        for pupil in found:
            pupil.password = hashed[pupil.pk]
        User.objects.bulk_update(found, ["password"])
        record(Deed.PINS_MADE, by=by, about={"class": school_class.pk, "pupils": len(found)})
    log.info("%d PINs made for class %s by %s", len(found), school_class.pk, by.pk)
    return [Card(pupil, school_class, new[pupil.pk]) for pupil in in_register_order(found)]


def state_of_pins(school_class: SchoolClass) -> str:
    """A digest that changes whenever a PIN of the class does."""
    kept = User.objects.filter(enrolments__school_class=school_class).order_by("pk")
    return digest_of(*kept.values_list("pk", "password"))


def only_managers(by: User | None, school_class: SchoolClass) -> None:
    """Refuse whoever does not look after the class. ``by`` is None when a school is set up by command."""
    if by is not None and not SchoolClass.objects.managed_by(by).filter(pk=school_class.pk).exists():
        raise NotAllowedError("Only the teachers of a class and the administrator change it.")
