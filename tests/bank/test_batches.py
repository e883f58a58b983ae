"""Batches: drawn step by step by whoever comes, the same for the same seed, saved whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from kombu.exceptions import OperationalError

from accounts.models import School, User
from bank import drafting
from bank.asking import SHARED, Ask, AtLeast
from bank.errors import BatchError, NotReady, TooMuchAsked
from bank.models import Batch, Candidate, Question, State, Version
from bank.services import batches
from bank.tasks import draw_batch
from geometry.generation import TEACHING
from geometry.option_sets import OptionSet
from geometry.spec import read_spec
from geometry.unfolding import unfold
from tests.at_once import all_at_once
from tests.bank.test_asking import TYPED

pytestmark = pytest.mark.django_db
FOUR = Ask(count=4, seed=11, folds=(2, 2), punches=(1, 1))


def start(by: User, ask: Ask = FOUR) -> Batch:
    return batches.start_batch(ask=ask, by=by, at=timezone.now())


def drawn(by: User, ask: Ask = FOUR) -> Batch:
    batch = start(by, ask)
    while batches.draw(batch=batch, seconds=60):
        pass
    batch.refresh_from_db()
    return batch


def fingerprints(batch: Batch) -> list[str]:
    return list(batch.candidates.values_list("fingerprint", flat=True))


def once(work: Callable, key: Callable) -> Callable:
    """The same work, done once for all tests of this file: a question takes a third of a second to draw and check."""
    done: dict = {}

    def remembered(*args: object, **given: object) -> object:
        what = key(*args, **given)
        if what not in done:
            done[what] = work(*args, **given)
        return deepcopy(done[what]) if isinstance(done[what], dict) else done[what]

    return remembered


ONE_QUESTION = once(drafting.one_question, lambda wish, **given: repr((wish, sorted(given.items(), key=str))))
CONTENT = once(batches.content_of, lambda _, made: (made.fingerprint, made.key))
PICTURES = once(batches.draw_pictures_of, lambda made: (made.fingerprint, made.key))


@pytest.fixture(autouse=True)
def drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drafting, "one_question", ONE_QUESTION)
    monkeypatch.setattr(batches, "content_of", CONTENT)
    monkeypatch.setattr(batches, "draw_pictures_of", PICTURES)


@pytest.fixture
def four(teacher: User) -> Batch:
    return drawn(teacher)


class TestDrawing:
    def test_each_place_gets_a_whole_question_unlike_the_others(self, four: Batch) -> None:
        assert four.ended_at is not None
        assert [candidate.place for candidate in four.candidates.all()] == [1, 2, 3, 4]
        assert len(set(fingerprints(four))) == 4
        for candidate in four.candidates.all():
            options = OptionSet.from_json(candidate.content["options"])
            assert all(check.ok for check in options.checks())
            assert read_spec(candidate.content["spec"]) == options.spec
            assert unfold(options.spec).holes()
            assert len(candidate.pictures["stem"]) == len(options.spec.folds) + 1
            assert len(candidate.pictures["options"]) == 5

    def test_the_same_seed_gives_the_same_however_it_is_cut_up(self, four: Batch, teacher: User) -> None:
        in_bits = start(teacher)
        while batches.draw(batch=Batch.objects.get(pk=in_bits.pk), seconds=0):
            pass
        assert fingerprints(in_bits) == fingerprints(four)
        assert fingerprints(drawn(teacher, replace(FOUR, seed=12))) != fingerprints(four)

    def test_a_repeated_task_draws_nothing_twice(self, four: Batch) -> None:
        before = list(four.candidates.values_list("pk", "fingerprint"))
        assert draw_batch.apply((four.pk,)).get() is False
        assert draw_batch.apply((0,)).get() is False
        assert list(four.candidates.values_list("pk", "fingerprint")) == before

    def test_a_worker_is_asked_where_there_is_one_and_done_without_while_it_is_away(
        self, teacher: User, settings, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks
    ) -> None:
        settings.CELERY_TASK_ALWAYS_EAGER = False
        asked = []
        monkeypatch.setattr(draw_batch, "apply_async", lambda args, **_: asked.append(args))
        with django_capture_on_commit_callbacks(execute=True):
            batch = start(teacher)
        assert asked == [(batch.pk,)]
        assert Batch.objects.get(pk=batch.pk).queued

        def away(*_: object, **__: object) -> None:
            raise OperationalError

        monkeypatch.setattr(draw_batch, "apply_async", away)
        with django_capture_on_commit_callbacks(execute=True):
            batch = start(teacher)
        assert not Batch.objects.get(pk=batch.pk).queued, "the page has it drawn"

    def test_a_task_that_is_not_done_in_its_time_leaves_the_rest_to_another(
        self, teacher: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("bank.tasks.A_TASK", 0)
        asked = []
        monkeypatch.setattr(draw_batch, "apply_async", lambda args, **_: asked.append(args))
        batch = start(teacher)
        for _ in range(5):
            draw_batch.apply((batch.pk,))
        assert asked == [(batch.pk,)] * 4
        assert batch.candidates.count() == 4

    def test_stopping_keeps_what_is_there(self, teacher: User) -> None:
        batch = start(teacher)
        assert batches.draw(batch=batch, seconds=0)
        batches.stop(batch=batch, at=timezone.now())
        assert not batches.draw(batch=batch, seconds=9)
        assert batch.candidates.count() == 1
        assert Batch.objects.get(pk=batch.pk).stopped

    def test_what_was_asked_for_is_in_it(self, teacher: User) -> None:
        ask = Ask(count=3, seed=2, sets=TEACHING, folds=(2, 2), at_least=(AtLeast("slid", 2),))
        kinds = [candidate.kinds for candidate in drawn(teacher, ask).candidates.all()]
        assert sum("slid" in each for each in kinds) >= 2

    def test_wishes_that_run_out_end_with_a_sentence_and_what_was_found(
        self, client_of, teacher: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Two straight folds and a disc are never hard, whatever the lot."""
        monkeypatch.setattr("bank.services.batches.TRIES", 1)
        monkeypatch.setitem(drafting.PATIENCE, "lot", 10)
        ask = Ask(count=4, seed=1, folds=(2, 2), shapes=("disc",), creases=("straight",))
        batch = drawn(teacher, replace(ask, levels=(4, 5), arrangement=SHARED))
        assert batch.gaps == [1, 2, 3, 4]
        page = client_of(teacher).get(reverse("bank:batch", args=[batch.pk])).content.decode()
        assert "0 of 4 questions were made. No more were found of these: 2 with 2 folds, difficulty 4" in page
        assert "It would help to allow more levels" in page

    def test_a_repeat_of_the_banks_starts_rejected_and_says_so(self, client_of, four: Batch, teacher: User) -> None:
        batches.save_kept(batch=four, tags=[], state=State.DRAFT, at=timezone.now())
        again = drawn(teacher)
        assert not any(candidate.kept for candidate in again.candidates.all())
        page = client_of(teacher).get(reverse("bank:batch", args=[again.pk])).content.decode()
        first = reverse("bank:detail", args=[Question.objects.get(number=1).pk])
        assert f'The bank has this question already: <a href="{first}">number 1</a>.' in page


class TestLookingThrough:
    def test_another_takes_the_place_of_the_same_level(self, four: Batch) -> None:
        old = four.candidates.get(place=2)
        batches.replace(batch=four, place=2, at=timezone.now())
        shown = {candidate.place: candidate for candidate in four.shown()}
        assert shown[2].turn == 1
        assert shown[2].level == old.level
        assert shown[2].fingerprint not in fingerprints(four)[:2] + fingerprints(four)[3:]
        assert len(shown) == 4

    def test_where_no_other_is_found_it_stays_and_says_so(self, four: Batch, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("bank.services.batches.draw_next", lambda *_, **__: None)
        with pytest.raises(BatchError, match="No other question like this"):
            batches.replace(batch=four, place=2, at=timezone.now())
        assert four.candidates.count() == 4

    def test_easiest_first(self, four: Batch) -> None:
        facilities = [candidate.facility for candidate in four.shown()]
        assert facilities == sorted(facilities, reverse=True)

    def test_deeds_on_one_question_work_without_script_and_with(self, client_of, four: Batch, teacher: User) -> None:
        client = client_of(teacher)
        address = reverse("bank:batch_candidate", args=[four.pk, 3])
        response = client.post(address, {"do": "reject"})
        assert response["Location"] == reverse("bank:batch", args=[four.pk]) + "#place-3"
        assert not four.candidates.get(place=3).kept
        part = client.post(address, {"do": "keep"}, headers={"HX-Request": "true"}).content.decode()
        assert 'id="place-3"' in part
        assert "4 questions kept" in part
        assert client.post(reverse("bank:batch_candidate", args=[four.pk, 9]), {"do": "another"}).status_code == 302
        assert four.candidates.count() == 4


class TestSaving:
    def test_what_is_kept_is_saved_in_the_order_shown_with_its_tags(self, four: Batch, teacher: User) -> None:
        out = four.shown()[1]
        batches.set_kept(batch=four, place=out.place, kept=False)
        wanted = [candidate.fingerprint for candidate in four.shown() if candidate.kept]
        saved = batches.save_kept(batch=four, tags=["by lot", "week 3"], state=State.READY, at=timezone.now())
        assert [question.current.fingerprint for question in saved] == wanted
        assert [question.number for question in saved] == [1, 2, 3]
        for question in saved:
            assert (question.state, question.author) == (State.READY, teacher)
            assert {tag.name for tag in question.tags.all()} == {"by lot", "week 3"}
            assert (question.level, question.folds) == (question.current.level, question.current.folds)
        assert Version.objects.count() == 3

    def test_saved_twice_is_saved_once(self, four: Batch) -> None:
        first = batches.save_kept(batch=four, tags=[], state=State.READY, at=timezone.now())
        again = batches.save_kept(batch=four, tags=["other"], state=State.DRAFT, at=timezone.now())
        assert first == again
        assert Question.objects.count() == 4
        with pytest.raises(BatchError, match="saved already"):
            batches.set_kept(batch=four, place=1, kept=False)

    def test_nothing_is_half_saved(self, four: Batch, monkeypatch: pytest.MonkeyPatch) -> None:
        """The third question's tags break: the first two are not there either."""
        from bank.services import questions

        calls = []

        def break_at_the_third(**given: object) -> None:
            calls.append(given)
            if len(calls) == 3:
                raise RuntimeError

        monkeypatch.setattr(questions, "set_tags", break_at_the_third)
        with pytest.raises(RuntimeError):
            batches.save_kept(batch=four, tags=["a"], state=State.READY, at=timezone.now())
        assert not Question.objects.exists()
        assert Batch.objects.get(pk=four.pk).saved_at is None

    def test_one_that_fails_a_check_keeps_all_from_being_ready(self, four: Batch) -> None:
        bad = four.candidates.get(place=1)
        bad.content["checks"][0] |= {"ok": False, "says": "Two options are right."}
        bad.save()
        with pytest.raises(NotReady, match="Two options are right"):
            batches.save_kept(batch=four, tags=[], state=State.READY, at=timezone.now())
        assert not Question.objects.exists()

    def test_not_while_it_is_drawn_and_not_nothing(self, four: Batch, teacher: User) -> None:
        with pytest.raises(BatchError, match="still being made"):
            batches.save_kept(batch=start(teacher), tags=[], state=State.READY, at=timezone.now())
        Candidate.objects.filter(batch=four).update(kept=False)
        with pytest.raises(BatchError, match="nothing to save"):
            batches.save_kept(batch=four, tags=[], state=State.READY, at=timezone.now())

    def test_a_bad_tag_is_answered_at_its_field_and_kept_as_typed(self, client_of, four: Batch, teacher: User) -> None:
        typed = {"tags": "x" * 50, "state": "ready"}
        response = client_of(teacher).post(reverse("bank:batch_save", args=[four.pk]), typed)
        assert response.status_code == 400
        assert "40 characters at most" in response.content.decode()
        assert "x" * 50 in response.content.decode()
        assert not Question.objects.exists()


class TestAskingTooMuch:
    def test_two_at_a_time(self, teacher: User, other_teacher: User) -> None:
        start(teacher)
        start(teacher)
        with pytest.raises(TooMuchAsked, match="twice already"):
            start(teacher)
        assert start(other_teacher).pk

    def test_so_many_an_hour(self, client_of, teacher: User, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("bank.services.batches.AN_HOUR", 19)
        response = client_of(teacher).post(reverse("bank:make"), TYPED)
        assert response.status_code == 429
        assert response["Retry-After"] == "3600"
        assert "At most 19 questions an hour" in response.content.decode()
        assert 'value="20"' in response.content.decode(), "what was typed is kept"
        assert not Batch.objects.exists()

    def test_old_batches_go_and_questions_stay(self, four: Batch) -> None:
        batches.save_kept(batch=four, tags=[], state=State.READY, at=timezone.now())
        assert batches.forget_batches(at=timezone.now() + timedelta(days=6)) == 0
        batches.forget_batches(at=timezone.now() + timedelta(days=8))
        assert (Batch.objects.count(), Candidate.objects.count(), Question.objects.count()) == (0, 0, 4)


class TestPages:
    def test_asked_for_by_form_drawn_by_clicks_alone(self, client_of, teacher: User) -> None:
        """The way without script: a form, a button for more, a page."""
        client = client_of(teacher)
        few = TYPED | {"count": "2", "least_0": "1", "folds_to": "2"}
        address = client.post(reverse("bank:make"), few)["Location"]
        assert "0 of 2 made" in client.get(address).content.decode()
        assert client.post(f"{address}go-on/")["Location"] == address
        page = client.get(address).content.decode()
        assert page.count('class="candidate"') == 2
        assert "Save the kept ones" in page

    def test_a_script_gets_the_new_ones_alone_and_at_the_end_the_page(self, client_of, teacher: User) -> None:
        batch = start(teacher)
        client, address = client_of(teacher), reverse("bank:batch", args=[batch.pk])
        asks = {"headers": {"HX-Request": "true"}}
        batches.draw(batch=batch, seconds=0)
        assert 'id="place-1"' in client.get(address + "?after=0", **asks).content.decode()
        assert 'id="place-1"' not in client.get(address + "?after=1", **asks).content.decode()
        while batches.draw(batch=batch, seconds=60):
            pass
        assert client.get(address + "?after=1", **asks)["HX-Refresh"] == "true"

    def test_a_page_that_waits_for_a_worker_looks_and_draws_itself_when_none_comes(
        self, client_of, teacher: User
    ) -> None:
        batch = start(teacher)
        client, address = client_of(teacher), reverse("bank:batch", args=[batch.pk])
        assert "hx-post" in client.get(address).content.decode().split("</section>")[0]
        Batch.objects.update(queued=True)
        assert "hx-get" in client.get(address).content.decode()
        Batch.objects.update(moved_at=timezone.now() - timedelta(minutes=1))
        assert "hx-get" not in client.get(address).content.decode()

    def test_colleagues_and_strangers_find_nothing(
        self, client_of, four: Batch, head: User, other_teacher: User, stranger: User, school: School
    ) -> None:
        for person in (head, other_teacher, stranger):
            assert client_of(person).get(reverse("bank:batch", args=[four.pk])).status_code == 404
            assert client_of(person).post(reverse("bank:batch_save", args=[four.pk]), {}).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_two_who_draw_at_once_make_each_question_once(teacher: User) -> None:
    batch = start(teacher)

    def deed() -> bool:
        return batches.draw(batch=Batch.objects.get(pk=batch.pk), seconds=60)

    assert all_at_once(deed, deed) == [False, False]
    assert [candidate.place for candidate in batch.candidates.all()] == [1, 2, 3, 4]
    assert fingerprints(batch) == fingerprints(drawn(teacher))


def test_how_far_it_is_stands_at_once_and_is_heard_as_it_goes_on(client_of, teacher: User) -> None:
    """Told in a place that stays: what a screen reader is to hear must not come with a new place."""
    batch = start(teacher, replace(FOUR, count=30))
    page = client_of(teacher).get(reverse("bank:batch", args=[batch.pk])).content.decode()
    assert "The first comes in a few seconds" in page
    assert '<p class="only-heard" role="status" id="made-heard"></p>' in page
    batches.draw(batch=batch, seconds=0)
    made = batch.candidates.count()
    assert made < 30
    address = f"{reverse('bank:batch', args=[batch.pk])}?after=0"
    part = client_of(teacher).get(address, headers={"HX-Request": "true"}).content.decode()
    assert f'<p id="made-heard" hx-swap-oob="innerHTML">{made} of 30 made.</p>' in part
