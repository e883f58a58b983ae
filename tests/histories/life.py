"""A school that lives: its people, and a step after the other of what they may do, all drawn by lot from one seed.

The deeds are functions of the modules ``deeds_...``, each with a weight. The seed repeats who does what in which order;
numbers of rows, and so the names of options in a browser, are the database's own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from django.db import models, transaction

from accounts.errors import AccountsError
from accounts.models import Role, SchoolClass, User
from accounts.services import cards, classes
from assignments.errors import AssignmentsError
from assignments.models import Assignment, QuestionSet, Sitting
from bank.errors import BankError
from bank.models import Question
from geometry.errors import GeometryError
from tests.factories import make_adult, make_school
from tests.histories.crawl import NOT_PRESSED, Fault, Page, Walker, filled

REFUSALS = (AccountsError, AssignmentsError, BankError, GeometryError)


class Nothing(Exception):
    """There is nothing to do this to."""


class Life:
    """One school with two classes, and another school that must see nothing of it."""

    def __init__(self, seed: int) -> None:
        self.lot = Random(seed)
        self.told: list[str] = []  # what was done, for whoever reads of a fault
        self.gone: set[str] = set()  # names of pupils erased
        self.made_of: dict[int, tuple[int, int]] = {}  # which folds and seed a question was made of
        self.stale: list[tuple[Walker, str, dict]] = []  # forms opened and not sent yet
        self.pages = 0  # that were looked at
        self._number = 0
        self._walkers: dict[int, Walker] = {}
        self.school, other = make_school(self.name("Tarnlow")), make_school(self.name("Millbeck"))
        self.teacher, self.colleague = (make_adult(self.school, name=self.name("Teacher")) for _ in range(2))
        self.head = make_adult(self.school, Role.HEAD, name=self.name("Head"))
        self.administrator = make_adult(self.school, Role.ADMINISTRATOR, name=self.name("Administrator"))
        self.strangers = [make_adult(other, role) for role in (Role.TEACHER, Role.HEAD, Role.ADMINISTRATOR)]
        for owner in (self.teacher, self.colleague):
            facts = {"name": self.name("Class"), "teachers": [owner], "by": self.administrator}
            self.add_pupils(classes.create_class(school=self.school, **facts), self.lot.randint(2, 5))

    # --- what there is ------------------------------------------------------------------------------------------
    def adults(self) -> list[User]:
        return list(User.objects.adults().filter(school=self.school, is_active=True).order_by("pk"))

    def pupils(self) -> models.QuerySet[User]:
        return User.objects.pupils().filter(school=self.school)

    def classes(self) -> models.QuerySet[SchoolClass]:
        return SchoolClass.objects.filter(school=self.school)

    def questions(self) -> models.QuerySet[Question]:
        return Question.objects.filter(school=self.school)

    def sets(self) -> models.QuerySet[QuestionSet]:
        return QuestionSet.objects.filter(school=self.school)

    def assignments(self) -> models.QuerySet[Assignment]:
        return Assignment.objects.filter(school_class__school=self.school)

    def sittings(self) -> models.QuerySet[Sitting]:
        return Sitting.objects.filter(assignment__in=self.assignments()).select_related("pupil", "assignment")

    # --- lots ---------------------------------------------------------------------------------------------------
    def name(self, what: str) -> str:
        """A name that stands nowhere else, so that it is found wherever it stands."""
        self._number += 1
        return f"{what} Q{self._number:03}x"

    def one(self, among: models.QuerySet | Sequence) -> Any:
        return self.lot.choice(_listed(among))

    def some(self, among: models.QuerySet | Sequence, most: int = 99) -> list:
        found = _listed(among)
        return self.lot.sample(found, self.lot.randint(1, min(most, len(found))))

    def maybe(self, chance: float = 0.5) -> bool:
        return self.lot.random() < chance

    # --- what is done -------------------------------------------------------------------------------------------
    def step(self, deeds: dict[Callable[[Life], None], int]) -> None:
        """Do one of these, by their weights; what the rules refuse is left undone."""
        (deed,) = self.lot.choices(list(deeds), list(deeds.values()))
        try:
            with transaction.atomic():
                deed(self)
        except Nothing:
            return
        except REFUSALS as refused:
            self.told.append(f"{deed.__name__}: refused, {refused}")
        else:
            self.told.append(deed.__name__)

    def walker(self, person: User) -> Walker:
        """The person's browser; signed in anew where the session has ended."""
        found = self._walkers.get(person.pk)
        return found if found is not None and found.is_signed_in else self.another_walker(person)

    def another_walker(self, person: User) -> Walker:
        """The person at another device."""
        found = self._walkers[person.pk] = Walker(User.objects.get(pk=person.pk))
        return found

    def add_pupils(self, school_class: SchoolClass, count: int) -> None:
        new = [
            cards.NewPupil(self.name("Pupil"), extra_time=self.lot.choice([0, 0, 25]), rest_breaks=self.maybe(0.4))
            for _ in range(count)
        ]
        classes.add_pupils(school_class=school_class, pupils=new, by=self.administrator)

    def press(self, walker: Walker, page: Page) -> None:
        """Send one of the forms of a page, now or later. It must be there for whoever was shown it."""
        forms = [form for form in page.forms if not NOT_PRESSED.match(form.action or page.address)]
        if not forms:
            return
        form = self.lot.choice(forms)
        address = form.action or page.address.split("?")[0]
        sent = filled(form, self.lot, changes=0.3)
        if self.maybe(0.1):
            self.stale.append((walker, address, sent))
            return
        answer = walker.post(address, sent)
        shown = str({name: value for name, value in sent.items() if name != "csrfmiddlewaretoken"})[:300]
        self.told.append(f"{walker.person.role} {walker.person.pk} sent {shown} to {address}: {answer.status}")
        if answer.status in (403, 404, 405):
            raise Fault(f"{walker.person.role}: a form of {page.address} to {address} answers {answer.status}: {shown}")
        if answer.status == 302 and not NOT_PRESSED.match(answer.location):
            walker.follow(answer.location, offered_by=f"{address} after {shown}")


def _listed(among: models.QuerySet | Sequence) -> list:
    found = list(among.order_by("pk") if isinstance(among, models.QuerySet) else among)
    if not found:
        raise Nothing
    return found
