"""Ruling options out: kept with the sitting, no answer, the same for every option."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.errors import AlreadyFinished, ChangedRepeat
from assignments.marking import standings
from assignments.models import Event, Sitting
from assignments.queries import acts_of
from assignments.services.sittings import finish_sitting
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.assignments.test_question_page import page_of
from tests.assignments.test_recording import choices, send

pytestmark = pytest.mark.django_db


@pytest.fixture
def sitting(school_class: SchoolClass, pupil: User) -> Sitting:
    return make_sitting(make_assignment(school_class), pupil)


def struck(sitting: Sitting) -> str:
    return next(iter(standings(acts_of([sitting])[sitting.pk], NOON).values())).struck


def test_it_is_kept_and_taken_back_in_the_order_of_the_device(sitting: Sitting) -> None:
    send(sitting, "B", kind="strike", seq=1)
    send(sitting, "D", kind="strike", seq=3)
    send(sitting, "D", kind="unstrike", seq=2)
    assert struck(sitting) == "BD"
    send(sitting, "B", kind="unstrike", seq=4)
    assert struck(sitting) == "D"


def test_it_is_no_answer_and_a_choice_takes_it_back(sitting: Sitting) -> None:
    send(sitting, "B", kind="strike", seq=1)
    assert choices(sitting) == "---"
    send(sitting, "B", seq=2)
    assert (choices(sitting), struck(sitting)) == ("B--", "")


def test_it_obeys_the_rules_of_all_that_is_kept(sitting: Sitting) -> None:
    first = send(sitting, "B", kind="strike", seq=1)
    with pytest.raises(ChangedRepeat):
        send(sitting, "B", kind="unstrike", seq=1, client_id=first.client_id)
    finish_sitting(sitting=sitting, at=NOON)
    with pytest.raises(AlreadyFinished):
        send(sitting, "C", kind="strike", seq=2)


class TestThePage:
    @pytest.fixture
    def tablet(self, client_of, pupil: User, school_class: SchoolClass, set_clock) -> Client:
        set_clock(NOON)
        client = client_of(pupil)
        client.post(reverse("assignments:start", args=[make_assignment(school_class).pk]))
        self.sitting = Sitting.objects.get()
        return client

    def buttons(self, page: str) -> list[tuple[str, str]]:
        return re.findall(r'name="then" value="((?:un)?strike:\w+)"[^>]*aria-pressed="(\w+)"', page)

    def press(self, tablet: Client, then: str) -> str:
        page = page_of(tablet, self.sitting)
        client_id = re.search(r'name="client_id" value="([^"]+)"', page)[1]
        fields = {"question": 1, "epoch": 1, "client_id": client_id, "had": "", "then": then}
        tablet.post(reverse("assignments:answer", args=[self.sitting.pk]), fields)
        return page_of(tablet, self.sitting)

    def test_without_script_by_the_same_form(self, tablet: Client) -> None:
        before = self.buttons(page_of(tablet, self.sitting))
        assert [pressed for _, pressed in before] == ["false"] * 5
        after = self.buttons(self.press(tablet, before[1][0]))
        assert [pressed for _, pressed in after] == ["false", "true", "false", "false", "false"]
        assert after[1][0] == "un" + before[1][0]
        again = self.buttons(self.press(tablet, after[1][0]))
        assert again == before
        assert list(Event.objects.values_list("kind", "option")) == [("strike", "B"), ("unstrike", "B")]

    def test_a_picture_of_another_question_is_not_ruled_out(self, tablet: Client) -> None:
        self.press(tablet, "strike:0123456789abcdef")
        self.press(tablet, "strike:")
        assert not Event.objects.exists()

    def test_the_teacher_sees_it_in_the_review(self, tablet: Client, client_of, teacher: User, pupil: User) -> None:
        self.press(tablet, self.buttons(page_of(tablet, self.sitting))[1][0])
        args = [self.sitting.assignment_id, pupil.pk, 1]
        page = client_of(teacher).get(reverse("assignments:result_review", args=args)).content.decode()
        assert page.count("ruled out") == 1
