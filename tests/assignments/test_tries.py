"""Questions to try: the one before the first sitting, and a variant of one whose answer is known. Nothing is kept."""

from __future__ import annotations

import re
from datetime import timedelta
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import SchoolClass, User
from assignments.models import Event, Feedback, Sitting
from assignments.services.assigning import Terms, assign_set
from assignments.services.sets import add_questions, make_set
from assignments.services.sittings import start_sitting
from assignments.tries import example, variant
from bank.services.questions import save_question
from geometry.generation import generate
from geometry.option_sets import OptionSet
from tests.assignments.factories import NOON, make_assignment
from tests.assignments.test_recording import send

pytestmark = pytest.mark.django_db


def names(page: str) -> list[str]:
    return re.findall(r'name="option" value="(\w{16})"', page)


def told(client: Client, address: str, name: str, **others: object) -> str:
    return client.get(f"{address}?{urlencode({'option': name} | others)}").content.decode()


class TestTheExample:
    @pytest.fixture
    def client(self, client_of, pupil: User) -> Client:
        return client_of(pupil)

    def test_one_of_five_is_right_and_the_others_say_what_went_wrong(self, client: Client) -> None:
        address = reverse("assignments:example")
        page = client.get(address).content.decode()
        assert len(names(page)) == 5
        verdicts = [told(client, address, name) for name in names(page)]
        assert sum("is right.</p>" in " ".join(v.split()) for v in verdicts) == 1
        options = OptionSet.from_json(example().version.options).options
        says = {mistake.says for option in options for mistake in option.mistakes}
        assert all(any(sentence[:25] in verdict for verdict in verdicts) for sentence in says)

    def test_without_a_choice_it_asks_for_one(self, client: Client) -> None:
        address = reverse("assignments:example")
        assert "Choose a picture first." in client.get(f"{address}?sent=1").content.decode()
        assert "Choose a picture first." in told(client, address, "0" * 16, sent=1)

    def test_ruling_out_without_script_checks_nothing(self, client: Client) -> None:
        address = reverse("assignments:example")
        name, other = names(client.get(address).content.decode())[:2]
        page = told(client, address, name, then=f"strike:{other}", sent=1)
        assert page.count('aria-pressed="true"') == 1
        assert "checked" in page
        assert "Choose a picture first." not in page

    def test_it_leads_on_to_the_set_it_was_opened_from_and_to_no_other(
        self, client: Client, school_class: SchoolClass, foreign_class: SchoolClass, set_clock
    ) -> None:
        set_clock(NOON)
        mine, other = make_assignment(school_class), make_assignment(foreign_class)
        start = reverse("assignments:start", args=[mine.pk])
        assert f"{reverse('assignments:example')}?set={mine.pk}" in client.get(start).content.decode()
        assert start in client.get(f"/my/try/?set={mine.pk}").content.decode()
        for number in (other.pk, "x", "9" * 30):
            page = client.get(f"/my/try/?set={number}").content.decode()
            assert reverse("assignments:start", args=[other.pk]) not in page

    def test_before_the_first_set_it_is_offered_in_words(self, client: Client, school_class, set_clock) -> None:
        set_clock(NOON)
        first, second = make_assignment(school_class), make_assignment(school_class)
        page = client.get(reverse("assignments:start", args=[first.pk])).content.decode()
        assert "Is this your first set?" in page
        client.post(reverse("assignments:start", args=[first.pk]))
        page = client.get(reverse("assignments:start", args=[second.pk])).content.decode()
        assert "Is this your first set?" not in page
        assert "Try one question first" in page


class TestAgain:
    @pytest.fixture
    def sitting(self, school_class: SchoolClass, teacher: User, pupil: User) -> Sitting:
        question_set = make_set(title="Practice", by=teacher)
        made = [
            save_question(school=teacher.school, author=teacher, spec=spec, option_set=options, state="ready")
            for sets in ("lot", "teaching")
            for spec, options in generate(count=1, seed=4, sets=sets)
        ]
        add_questions(question_set=question_set, questions=made)
        now = timezone.now()
        terms = Terms(
            opens_at=now - timedelta(minutes=1),
            closes_at=now + timedelta(days=1),
            allowance=600,
            feedback=Feedback.NOW,
        )
        sent = assign_set(question_set=question_set, school_class=school_class, terms=terms, by=teacher)
        return start_sitting(assignment=sent, pupil=pupil, device="tablet", at=now)

    def lock(self, sitting: Sitting, place: int) -> None:
        now = timezone.now()
        send(sitting, "A", place=place, at=now)
        send(sitting, "", place=place, kind="lock", at=now)

    def test_only_when_the_answer_may_be_told(self, sitting: Sitting, client_of, pupil: User) -> None:
        client = client_of(pupil)
        addresses = [reverse("assignments:again", args=[sitting.pk, place]) for place in (1, 2, 3)]
        assert [client.get(address).status_code for address in addresses] == [404, 404, 404]
        self.lock(sitting, 1)
        assert [client.get(address).status_code for address in addresses] == [200, 404, 404]

    def test_it_is_another_question_of_the_same_kind_and_the_next_another_again(self, sitting: Sitting) -> None:
        for asked in sitting.assignment.questions.select_related("version"):
            first, second = variant(asked.version, 1), variant(asked.version, 2)
            prints = {one.version.options["fingerprint"] for one in (first, second)}
            assert len(prints | {asked.version.fingerprint}) == 3
            assert {first.version.folds, second.version.folds} == {asked.version.folds}

    def test_it_is_no_question_of_the_other_paper_which_a_neighbour_may_be_sitting(
        self, sitting: Sitting, client_of, pupil: User
    ) -> None:
        asked = sitting.assignment.questions.select_related("version").get(pk=sitting.paper[0]["question"]).version
        known = {asked.fingerprint, *sitting.assignment.questions.values_list("version__fingerprint", flat=True)}
        first = variant(asked, 1, known)
        other = asked.question.versions.create(
            number=2,
            spec=first.version.spec,
            options=first.version.options,
            fingerprint=first.version.options["fingerprint"],
        )
        client, address = client_of(pupil), reverse("assignments:again", args=[sitting.pk, 1])
        self.lock(sitting, 1)
        tried = {option.name for option in first.options()}
        assert set(names(client.get(address).content.decode())) == tried
        sitting.assignment.questions.create(version=other, paper=2, position=1)
        assert not tried & set(names(client.get(address).content.decode()))

    def test_it_is_checked_and_nothing_is_kept(self, sitting: Sitting, client_of, pupil: User) -> None:
        client = client_of(pupil)
        self.lock(sitting, 1)
        before = Event.objects.count()
        address = reverse("assignments:again", args=[sitting.pk, 1])
        assert address in client.get(reverse("assignments:review", args=[sitting.pk, 1])).content.decode()
        page = client.get(address).content.decode()
        verdicts = [" ".join(told(client, address, name, number=1).split()) for name in names(page)]
        assert sum("is right.</p>" in verdict for verdict in verdicts) == 1
        assert "?number=2" in verdicts[0]
        assert "option=" + names(page)[0] in verdicts[0]  # the steps without script stay with the choice
        assert Event.objects.count() == before
