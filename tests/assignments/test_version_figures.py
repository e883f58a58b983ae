"""Figures of questions over all their sittings, against marks one by one and against the published tables."""

from __future__ import annotations

from datetime import timedelta
from itertools import product

import numpy as np
import pytest

from accounts.models import SchoolClass, User
from assignments.answer_tables import AnswerTable, Item, tables_of
from assignments.figures import Figures
from assignments.marking import Outcome
from assignments.models import AssignedQuestion, Assignment
from assignments.results import results_of
from assignments.services.clock import database_now
from assignments.services.rulings import rule_on
from assignments.services.sittings import finish_sitting
from assignments.version_figures import explain_difficulty, figures_by_version
from geometry.difficulty import WEIGHTS
from tests.assignments.factories import NOON, choose, make_assignment, make_sitting
from tests.assignments.published_marks import LSAT_6, marks_of
from tests.factories import make_pupil

LETTERS = "ABCDE"
LSAT6 = marks_of(LSAT_6)


def table_of(marks: np.ndarray, first_version: int = 1) -> AnswerTable:
    """Right is A; wrong is B."""
    items = tuple(Item(first_version + place, "A") for place in range(marks.shape[1]))
    return AnswerTable(items, np.where(marks == 1, 0, 1).astype(np.int8))


class TestAgainstPublishedFigures:
    """LSAT section 6, 1,000 persons (Bock and Lieberman 1970); figures computed with R 4.2.2: psych, CTT, eRm."""

    def test_one_set(self) -> None:
        figures = figures_by_version([table_of(LSAT6)])
        assert [one.item.facility for one in figures.values()] == pytest.approx([0.924, 0.709, 0.553, 0.763, 0.870])
        rest = [one.item.item_rest for one in figures.values()]
        assert rest == pytest.approx([0.11283, 0.15318, 0.17278, 0.14443, 0.12160], abs=1e-5)
        gap = [one.item.upper_lower for one in figures.values()]
        assert gap == pytest.approx([0.19662, 0.63146, 0.81088, 0.53699, 0.32035], abs=1e-5)
        scaled = [one.scaled.difficulty for one in figures.values() if one.scaled]
        assert scaled == pytest.approx([-1.25613, 0.47491, 1.23598, 0.16841, -0.62317], abs=1e-5)
        errors = [one.scaled.error for one in figures.values() if one.scaled]
        assert errors == pytest.approx([0.1044, 0.0699, 0.0688, 0.0726, 0.0859], abs=1e-4)

    def test_the_same_set_in_two_halves_that_are_marked_apart(self) -> None:
        """Halves drawn by lot have nearly the same means, so pooling within them is nearly the figure of the whole."""
        half = np.random.default_rng(1).permutation(len(LSAT6)) < 500
        pooled = figures_by_version([table_of(LSAT6[half]), table_of(LSAT6[~half])])
        whole = figures_by_version([table_of(LSAT6)])
        assert pooled[1].sittings == 1000
        for version in range(1, 6):
            assert pooled[version].item.facility == pytest.approx(whole[version].item.facility)
            assert pooled[version].item.item_rest == pytest.approx(whole[version].item.item_rest, abs=0.01)


def test_an_easy_and_a_hard_set_do_not_pass_for_discrimination() -> None:
    """Four items, every pattern as often as chance would have it: independent. So r is 0 within each set, of which
    one is right four times in five and the other one time in five; taken together, r would be 0.48."""
    easy = np.array(list(product((1, 1, 1, 1, 0), repeat=4)))
    hard = 1 - easy
    together = figures_by_version([table_of(np.vstack([easy, hard]))])[1].item.item_rest
    apart = figures_by_version([table_of(easy), table_of(np.hstack([hard, hard[:, :1]]))])[1].item
    assert together is not None
    assert together > 0.4
    assert figures_by_version([table_of(easy), table_of(easy)])[1].item.item_rest == pytest.approx(0, abs=1e-9)
    assert apart.item_rest == pytest.approx(_pooled_by_hand(easy, np.hstack([hard, hard[:, :1]])), abs=1e-9)


def _pooled_by_hand(*sets: np.ndarray) -> float:
    own = np.concatenate([marks[:, 0] - marks[:, 0].mean() for marks in sets])
    rest = np.concatenate([marks[:, 1:].mean(axis=1) - marks[:, 1:].mean() for marks in sets])
    return float(np.corrcoef(own, rest)[0, 1])


def test_the_regression_finds_weights_that_were_planted() -> None:
    """Difficulties made from two features (fold 0.8, slanting -0.5), answered by the Rasch model with a fixed seed."""
    lot = np.random.default_rng(5)
    features = {number: {"folds": lot.integers(1, 5), "slanting": lot.integers(0, 3)} for number in range(1, 25)}
    difficulty = np.array([0.8 * one["folds"] - 0.5 * one["slanting"] for one in features.values()])
    ability = lot.normal(difficulty.mean(), 1, 1500)
    chance = 1 / (1 + np.exp(difficulty - ability[:, None]))
    found = explain_difficulty([table_of((lot.random(chance.shape) < chance).astype(int))], features, WEIGHTS)
    assert found is not None
    assert {one.feature: one.found for one in found.weights} == pytest.approx(
        {"folds": 0.8, "slanting": -0.5}, abs=0.06
    )
    assert found.explained > 0.97


def test_few_questions_explain_nothing() -> None:
    assert explain_difficulty([table_of(LSAT6)], {}, WEIGHTS) is None
    assert explain_difficulty([], {}, WEIGHTS) is None


@pytest.mark.django_db
class TestTables:
    @pytest.fixture
    def assignment(self, school_class: SchoolClass) -> Assignment:
        """Thirty choices drawn with a fixed seed: changed, late, left out, and from paper typed in twice."""
        lot = np.random.default_rng(3)
        assignment = make_assignment(school_class, "CAEB")
        for number in range(8):
            choices = "".join(lot.choice(list("ABCDE-"), 4))
            sitting = make_sitting(assignment, make_pupil(school_class.school), choices=choices)
            late = NOON + timedelta(minutes=9)
            choose(sitting, 1 + number % 4, lot.choice(list(LETTERS)), seq=20, at=late, is_late=number % 2 == 0)
            choose(sitting, 2, lot.choice(list(LETTERS)), seq=1, epoch=2, at=NOON)
        sitting.entered_at, sitting.epoch = NOON, 2  # typed in twice: only what was typed last counts
        sitting.save()
        return assignment

    def alike(self, assignment: Assignment) -> None:
        results = results_of(assignment)
        (table,) = tables_of(Assignment.objects.filter(pk=assignment.pk))
        rows = sorted(results.sat, key=lambda row: row.sitting.pk)
        counted = [[row.marks.each[place] for place in results.counted] for row in rows]
        assert table.right.tolist() == [[one.outcome is Outcome.RIGHT for one in row] for row in counted]
        chosen = [[LETTERS.index(one.choice) if one.choice else -1 for one in row] for row in counted]
        assert table.chosen.tolist() == chosen

    def test_they_hold_what_marking_finds_one_by_one(self, assignment: Assignment) -> None:
        self.alike(assignment)

    def test_rulings_count(self, assignment: Assignment, teacher: User) -> None:
        for position, accepts in ((1, "CD"), (3, "")):
            question = AssignedQuestion.objects.get(assignment=assignment, position=position)
            rule_on(question=question, accepts=accepts, reason="Faulty.", by=teacher, at=NOON)
        self.alike(assignment)

    def test_the_same_questions_are_one_table_and_others_another(
        self, assignment: Assignment, school_class: SchoolClass
    ) -> None:
        again = Assignment.objects.get(pk=assignment.pk)
        again.pk = None
        again.save()
        for one in assignment.questions.all():
            AssignedQuestion.objects.create(assignment=again, version=one.version, position=one.position)
        make_sitting(again, make_pupil(school_class.school), choices="CAEB")
        make_sitting(make_assignment(school_class, "A"), make_pupil(school_class.school), choices="A")
        tables = tables_of(Assignment.objects.all())
        assert sorted(len(table.chosen) for table in tables) == [1, 9]

    def test_six_queries_whatever_was_sat(self, assignment: Assignment, django_assert_num_queries) -> None:
        with django_assert_num_queries(6):  # the time among them, since some sittings were never handed in
            tables_of(Assignment.objects.all())

    def test_a_sitting_that_runs_counts_once_it_has_ended(self, school_class: SchoolClass, pupil: User) -> None:
        now = database_now()
        assignment = make_assignment(school_class, "CA", opens_at=now - timedelta(hours=1))
        sitting = make_sitting(assignment, pupil, started_at=now - timedelta(seconds=30), choices="C")
        assert tables_of([assignment]) == []
        finish_sitting(sitting=sitting, at=now)
        (table,) = tables_of([assignment])
        assert table.right.tolist() == [[True, False]]

    def test_nothing_from_nothing(self) -> None:
        assert tables_of(Assignment.objects.none()) == []

    def test_they_agree_with_the_figures_of_the_class(self, assignment: Assignment) -> None:
        by_version = figures_by_version(tables_of(Assignment.objects.all()))
        own = Figures(results_of(assignment))
        for place, question in enumerate(own.results.questions):
            assert by_version[question.version_id].item.item_rest == own.items[place].item_rest
            assert by_version[question.version_id].efficiency == own.efficiency(place)
