"""What pupils do, by the pages; and whoever presses whatever is there."""

from __future__ import annotations

from uuid import UUID

from django.urls import reverse

from accounts.models import User
from assignments.models import Assignment, Sitting
from assignments.papers import option_names, places
from assignments.services.clock import database_now
from tests.histories.crawl import NOT_PRESSED, Fault
from tests.histories.life import Life, Nothing


def begin(life: Life) -> None:
    now = database_now()
    pupil = life.one(life.pupils())
    open_now = [one for one in Assignment.objects.visible_to(pupil) if one.is_open(now)]
    assignment = life.one([one for one in open_now if not one.sittings.filter(pupil=pupil).exists()])
    answer = life.walker(pupil).post(reverse("assignments:start", args=[assignment.pk]), {})
    if answer.status != 302:
        raise Fault(f"pupil cannot start {assignment.pk}: {answer.status}")


def begin_all(life: Life) -> None:
    now = database_now()
    assignment = life.one([one for one in life.assignments() if one.is_open(now)])
    for place in assignment.school_class.enrolments.all():
        if Assignment.objects.visible_to(place.pupil).filter(pk=assignment.pk).exists():
            life.walker(place.pupil).post(reverse("assignments:start", args=[assignment.pk]), {})
            _answer(life, place.pupil, assignment.sittings.filter(pupil=place.pupil).first(), life.lot.randint(0, 5))


def sit(life: Life) -> None:
    sitting = life.one(life.sittings().filter(entered_at=None))
    _answer(life, sitting.pupil, sitting, life.lot.randint(1, 6))


def _answer(life: Life, pupil: User, sitting: Sitting | None, times: int) -> None:
    """Press buttons on the pages of questions, whatever they are."""
    if sitting is None:
        return
    walker = life.walker(pupil)
    for _ in range(times):
        place = life.lot.randint(1, len(sitting.paper))
        page = walker.get(reverse("assignments:sitting", args=[sitting.pk, place]))
        life.press(walker, page)


def hand_in(life: Life) -> None:
    sitting = life.one(life.sittings().filter(entered_at=None))
    life.walker(sitting.pupil).post(reverse("assignments:finish", args=[sitting.pk]), {})


def second_device(life: Life) -> None:
    sitting = life.one(life.sittings())
    walker = life.another_walker(sitting.pupil)
    walker.post(reverse("assignments:start", args=[sitting.assignment_id]), {})


def answer_late(life: Life) -> None:
    """What a page's script sends that was opened a while ago, whatever has become of the sitting."""
    sitting = life.one(life.sittings().filter(entered_at=None))
    number = life.lot.randint(1, len(sitting.paper))
    sent = {
        "question": number,
        "kind": life.lot.choice(["choose", "choose", "flag", "strike"]),
        "option": life.lot.choice(option_names(sitting.pk, places(sitting.paper)[number - 1])),
        "client_id": str(UUID(int=life.lot.getrandbits(128), version=4)),
        "epoch": sitting.epoch,
        "seq": life.lot.randint(1, 90),
    }
    life.walker(sitting.pupil).post(reverse("assignments:answer", args=[sitting.pk]), sent)


def press_stale(life: Life) -> None:
    if not life.stale:
        raise Nothing
    walker, address, sent = life.stale.pop(life.lot.randrange(len(life.stale)))
    answer = walker.post(address, sent)
    life.told.append(f"{walker.person.role} pressed late {address} {answer.status}")


def wander(life: Life) -> None:
    """Somebody opens some pages one after the other, and presses something on the last of them."""
    person = life.one([*life.adults(), *life.pupils()])
    walker = life.walker(person)
    page = walker.follow("/", offered_by="")
    for _ in range(life.lot.randint(1, 4)):
        links = [one.split("#")[0] for one in page.links]
        links = [
            one
            for one in links
            if one and not one.startswith(("/static/", "/bank/pictures")) and not NOT_PRESSED.match(one)
        ]
        if not links:
            break
        # those that lead deeper first
        deep = [one for one in links if any(sign.isdigit() for sign in one)]
        page = walker.follow(life.lot.choice(deep or links), offered_by=page.address)
    life.press(walker, page)


DEEDS = {begin: 6, begin_all: 4, sit: 12, hand_in: 3, second_device: 2, answer_late: 4, press_stale: 2, wander: 14}
