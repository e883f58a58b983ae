"""Variants of a question, and a sister of one whose key can be guessed."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts.models import School, User
from bank.models import Batch, Question, State, Version
from bank.services import batches
from geometry.fingerprints import fingerprint
from geometry.option_sets import OptionSet
from geometry.spec import read_spec
from geometry.variants import PARALLEL
from tests.bank.factories import CROWDED, make_question, typed_halves

pytestmark = pytest.mark.django_db
DROP = {"shape": "drop", "at": ["7/8", "5/8"], "size": "1/10", "turn": 0}


@pytest.fixture(autouse=True)
def one_seed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bank.views.made_from.draw_seed", lambda: 5)
    monkeypatch.setattr("bank.views.workbench.draw_seed", lambda: 5)


def made(batch: Batch) -> list[OptionSet]:
    while batches.draw(batch=batch, seconds=60):
        pass
    return [OptionSet.from_json(candidate.content["options"]) for candidate in batch.candidates.order_by("place")]


@pytest.fixture
def question(school: School, teacher: User) -> Question:
    return make_question(school, teacher, state=State.READY)


class TestVariants:
    def test_as_many_as_chosen_parallel_saved_tagged_and_tied_to_their_origin(
        self, client_of, teacher: User, question: Question
    ) -> None:
        client = client_of(teacher)
        response = client.post(reverse("bank:variants", args=[question.pk]), {"count": "2"})
        batch = Batch.objects.get()
        assert response["Location"] == reverse("bank:batch", args=[batch.pk])
        model = question.current
        sets = made(batch)
        assert len({model.fingerprint, *(each.fingerprint for each in sets)}) == 3
        for each in sets:
            assert each.difficulty.level == model.level
            assert all(each.difficulty.features[name] == model.difficulty["features"][name] for name in PARALLEL)
        client.post(reverse("bank:batch_save", args=[batch.pk]), {"tags": "retest", "state": "ready"})
        saved = question.made_from_it.order_by("number")
        assert [one.current.fingerprint for one in saved] == [each.fingerprint for each in sets]
        assert all([tag.name for tag in one.tags.all()] == ["retest"] for one in saved)
        assert all(one.state == State.READY for one in saved)
        origin, variant = (
            client.get(reverse("bank:detail", args=[one.pk])).content.decode() for one in (question, saved[0])
        )
        assert "Made from it" in origin
        assert f"question {question.number}</a>" in variant.split("Made from")[1]

    @pytest.mark.parametrize(("typed", "count"), [("6", 6), ("7", 1), ("0", 1), ("-2", 1), ("x", 1), ("", 1)])
    def test_one_to_six(self, client_of, teacher: User, question: Question, typed: str, count: int) -> None:
        client_of(teacher).post(reverse("bank:variants", args=[question.pk]), {"count": typed})
        assert Batch.objects.get().wanted == count

    def test_none_at_all_is_said_with_the_reason(self, client_of, teacher: User, question: Question) -> None:
        """On a sheet with a corner that points inwards nothing is moved."""
        points = [["0", "0"], ["1", "0"], ["1", "1"], ["9/10", "1/10"]]
        sheet = {"kind": "polygon", "points": points}
        spec = question.current.spec | {"sheet": sheet}
        Version.objects.update(options=question.current.options | {"spec": spec})
        client_of(teacher).post(reverse("bank:variants", args=[question.pk]), {"count": "2"})
        batch = Batch.objects.get()
        assert made(batch) == []
        page = client_of(teacher).get(reverse("bank:batch", args=[batch.pk])).content.decode()
        assert "0 of 2 questions were made. No parallel question was found: on a sheet with a corner" in page

    def test_asking_too_much_is_refused(self, client_of, teacher: User, question: Question, monkeypatch) -> None:
        monkeypatch.setattr("bank.services.batches.AN_HOUR", 3)
        response = client_of(teacher).post(reverse("bank:variants", args=[question.pk]), {"count": "4"})
        assert response.status_code == 429
        assert response["Retry-After"] == "3600"
        assert "At most 3 questions an hour" in response.content.decode()
        assert not Batch.objects.exists()


class TestSister:
    def test_the_page_tells_the_figure_and_offers_one(self, client_of, teacher: User, question: Question) -> None:
        page = client_of(teacher).get(reverse("bank:detail", args=[question.pk])).content.decode()
        assert re.search(r"found the key \d+ times in 100, .*; by chance it would be 20", page)
        assert "Look for a sister" in page

    def test_it_is_drawn_by_lot_and_then_cannot_be_guessed(
        self, client_of, school: School, teacher: User, question: Question
    ) -> None:
        client = client_of(teacher)
        client.post(reverse("bank:sister", args=[question.pk]))
        batch = Batch.objects.get()
        (sister,) = made(batch)
        assert sister.sets == "lot"
        assert all(check.ok for check in sister.checks())
        assert batch.candidates.get().kept
        (saved,) = batches.save_kept(batch=batch, tags=[], state=State.READY, at=timezone.now())
        assert saved.origin == question
        page = client.get(reverse("bank:detail", args=[saved.pk])).content.decode()
        assert "the pictures alone tell nothing" in page
        assert "Look for a sister" not in page

    def test_where_there_is_none_the_reason_is_told(self, client_of, school: School, teacher: User) -> None:
        """One fold has no sisters: two folds or more are needed."""
        one_fold = make_question(school, teacher, spec=CROWDED)
        client_of(teacher).post(reverse("bank:sister", args=[one_fold.pk]))
        batch = Batch.objects.get()
        assert made(batch) == []
        page = client_of(teacher).get(reverse("bank:batch", args=[batch.pk])).content.decode()
        assert "A question drawn by lot needs two folds or more: add a fold." in page

    def test_the_workbench_looks_for_one_of_what_lies_on_it(self, client_of, teacher: User, question: Question) -> None:
        """Its punch moved and not saved: the sister is drawn around what is typed, not around what the bank has."""
        client = client_of(teacher)
        typed = typed_halves(punch__0__at="7/8, 5/8", punch__0__shape="drop", punch__0__size="1/10", do="sister")
        response = client.post(reverse("bank:edit", args=[question.pk]), typed)
        batch = Batch.objects.get()
        assert response["Location"] == reverse("bank:batch", args=[batch.pk])
        (sister,) = made(batch)
        typed_spec = read_spec(question.current.spec | {"punches": [DROP]})
        assert fingerprint(typed_spec) in {fingerprint(sister.sister(label)) for label in "ABCDE"}
        (saved,) = batches.save_kept(batch=batch, tags=[], state=State.READY, at=timezone.now())
        assert saved.origin == question
        assert question.current == Question.objects.get(pk=question.pk).current

    def test_the_workbench_offers_one_only_where_there_may_be_one(self, client_of, teacher: User) -> None:
        preview = reverse("bank:preview")
        page = client_of(teacher).post(preview, typed_halves(part="options")).content.decode()
        assert 'value="sister"' in page
        page = client_of(teacher).post(preview, typed_halves(part="options", folds="1")).content.decode()
        assert 'value="sister"' not in page
        assert "A question drawn by lot needs two folds or more: add a fold." in page

    def test_a_sister_of_nothing_is_refused(self, client_of, teacher: User) -> None:
        response = client_of(teacher).post(reverse("bank:new"), typed_halves(punch__0__at="1/8, 1/8", do="sister"))
        assert response.status_code == 422
        assert not Batch.objects.exists()
