"""Answers from paper: typed as printed, kept as the versions' own letters, and then results like any other."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from assignments.errors import SatInBrowser
from assignments.marking import Outcome
from assignments.models import Event, Sitting
from assignments.paper.sheet_codes import SheetName, code_of
from assignments.paper.shuffles import arrange
from assignments.results import results_of
from assignments.services.paper_marks import PaperAnswers, enter_answers, typed_answers
from assignments.services.sittings import record_event, start_sitting
from tests.assignments.factories import NOON, make_assignment, make_sitting

pytestmark = pytest.mark.each_database

KEYS = "CAE"


@pytest.fixture
def assignment(school_class, pupil):
    return make_assignment(school_class, KEYS, opens_at=timezone.now() - timedelta(days=1))


def enter(assignment, teacher, *answers):
    return enter_answers(assignment=assignment, answers=answers, sat_at=NOON, by=teacher, at=timezone.now())


def outcomes(assignment) -> list[str]:
    (row,) = results_of(assignment).sat
    return [mark.outcome.value for mark in row.marks.each]


def key_as_printed(assignment, paper: int) -> str:
    """The letters that a pupil with all right has on that paper."""
    versions = [asked.version for asked in assignment.questions.select_related("version").order_by("position")]
    return "".join(question.key for question in arrange(assignment.question_set_id, paper, versions))


@pytest.mark.parametrize("paper", [1, 2, 3, 4])
def test_the_key_of_a_paper_typed_in_is_all_right_and_of_another_paper_is_not(assignment, teacher, pupil, paper):
    enter(assignment, teacher, PaperAnswers(pupil, paper, key_as_printed(assignment, paper)))
    assert outcomes(assignment) == ["right"] * 3
    other = next(p for p in (1, 2, 3, 4) if key_as_printed(assignment, p) != key_as_printed(assignment, paper))
    enter(assignment, teacher, PaperAnswers(pupil, other, key_as_printed(assignment, paper)))
    assert "wrong" in outcomes(assignment)


def test_wrong_and_left_out_answers_are_marked_with_their_mistakes(assignment, teacher, pupil):
    enter(assignment, teacher, PaperAnswers(pupil, 1, "D-E"))
    (row,) = results_of(assignment).sat
    assert [mark.outcome for mark in row.marks.each] == [Outcome.WRONG, Outcome.UNANSWERED, Outcome.RIGHT]
    assert [mistake.kind for mistake in row.marks.each[0].mistakes] == ["slid"]
    assert row.marks.seconds == 0, "paper tells no times"
    assert row.sitting.is_on_paper
    assert row.sitting.entered_by == teacher


def test_typing_a_paper_once_more_replaces_all_of_it_and_counts_as_no_change_of_the_pupils(assignment, teacher, pupil):
    enter(assignment, teacher, PaperAnswers(pupil, 1, "CAB"))
    assert enter(assignment, teacher, PaperAnswers(pupil, 1, "CAB")) == 0, "the same again is nothing new"
    assert enter(assignment, teacher, PaperAnswers(pupil, 1, "C-E")) == 1
    (row,) = results_of(assignment).sat
    assert [mark.choice for mark in row.marks.each] == ["C", "", "E"]
    assert all(mark.standing.changes == 0 for mark in row.marks.each)
    assert Event.objects.count() == 3 + 2, "what was typed before stays kept"
    assert typed_answers(assignment) == {pupil.pk: (1, "C-E")}


def test_a_row_made_empty_takes_the_paper_away(assignment, teacher, pupil):
    enter(assignment, teacher, PaperAnswers(pupil, 2, "CAB"))
    assert enter(assignment, teacher, PaperAnswers(pupil, 1, "")) == 1
    assert enter(assignment, teacher, PaperAnswers(pupil, 1, "")) == 0
    assert not Sitting.objects.exists()


def test_who_sat_in_the_browser_keeps_that_sitting_and_nothing_of_the_others_is_saved(
    assignment, teacher, pupil, school_class
):
    from tests.factories import enrol, make_pupil

    other = make_pupil(school_class.school, "Aine")
    enrol(other, school_class)
    make_sitting(assignment, pupil, choices="C")
    with pytest.raises(SatInBrowser, match="Fenna has begun"):
        enter(assignment, teacher, PaperAnswers(other, 1, "CAE"), PaperAnswers(pupil, 1, "CAE"))
    assert not assignment.sittings.exclude(entered_at=None).exists()


def test_who_sat_on_paper_can_neither_start_nor_answer_in_the_browser(assignment, teacher, pupil, client_of):
    enter(assignment, teacher, PaperAnswers(pupil, 1, "CAE"))
    client = client_of(pupil)
    assert client.post(f"/my/{assignment.pk}/").status_code == 409
    sitting = start_sitting(assignment=assignment, pupil=pupil, device="tablet", at=timezone.now())
    assert sitting.epoch == 1
    from uuid import uuid4

    from assignments.errors import AlreadyFinished

    with pytest.raises(AlreadyFinished):
        record_event(
            sitting=sitting,
            question_id=sitting.paper[0]["question"],
            kind="choose",
            option="A",
            client_id=uuid4(),
            epoch=1,
            seq=99,
            at=timezone.now(),
        )
    assert outcomes(assignment) == ["right"] * 3


# --- the page --------------------------------------------------------------------------------------------------
def address(assignment) -> str:
    return f"/results/{assignment.pk}/paper/"


def sent(pupil, letters: str, *, paper: str = "1", had: str = "", **others: str) -> dict[str, str]:
    day = f"{timezone.localdate():%Y-%m-%d}"
    row = {f"paper-{pupil.pk}": paper, f"answers-{pupil.pk}": letters}
    row |= {f"initial-paper-{pupil.pk}": "1", f"initial-answers-{pupil.pk}": had}
    return {"sat_on": day} | row | others


def test_letters_are_typed_in_any_case_with_spaces_and_full_stops(assignment, teacher, pupil, client_of):
    client = client_of(teacher)
    answer = client.post(address(assignment), sent(pupil, "c a ."))
    assert answer.status_code == 302
    assert typed_answers(assignment) == {pupil.pk: (1, "CA-")}
    page = client.get(answer["Location"]).content.decode()
    assert "on paper" in page
    assert "1 paper saved." in page


@pytest.mark.parametrize(
    ("letters", "says"),
    [
        ("CA", "2 of 3 answers. Write - for a question left out."),
        ("CAEB", "4 of 3 answers."),
        ("CAF", "Question 3: “F” is not a letter from A to E."),
        ("C<E", "Question 2: “&lt;” is not a letter from A to E."),
    ],
)
def test_gaps_and_other_letters_are_said_beside_the_row_and_what_was_typed_stays(
    assignment, teacher, pupil, client_of, letters, says
):
    answer = client_of(teacher).post(address(assignment), sent(pupil, letters))
    assert answer.status_code == 400
    assert says in answer.content.decode()
    assert f'value="{letters.replace("<", "&lt;")}"' in answer.content.decode()
    assert not Sitting.objects.exists()


def test_a_page_left_open_takes_nothing_away_that_somebody_else_typed_in_meanwhile(
    assignment, teacher, pupil, client_of
):
    enter(assignment, teacher, PaperAnswers(pupil, 1, "CAE"))
    client_of(teacher).post(address(assignment), sent(pupil, "", had=""))
    assert typed_answers(assignment) == {pupil.pk: (1, "CAE")}
    client_of(teacher).post(address(assignment), sent(pupil, "", had="CAE"))
    assert typed_answers(assignment) == {}


def test_a_day_still_to_come_is_refused(assignment, teacher, pupil, client_of):
    tomorrow = timezone.localdate() + timedelta(days=1)
    answer = client_of(teacher).post(address(assignment), sent(pupil, "CAE") | {"sat_on": f"{tomorrow:%Y-%m-%d}"})
    assert answer.status_code == 400
    assert "still to come" in answer.content.decode()


def test_a_scanned_code_finds_the_row_and_the_paper_and_loses_nothing_typed(assignment, teacher, pupil, client_of):
    code = code_of(SheetName(assignment.question_set_id, assignment.pk, 3, pupil.pk))
    found = client_of(teacher).post(address(assignment), sent(pupil, "CA", code=code.lower(), find="1"))
    assert found.status_code == 200
    page = found.content.decode()
    assert 'value="CA"' in page
    assert '<option value="3" selected>' in page
    assert "autofocus" in page
    lost = client_of(teacher).post(address(assignment), sent(pupil, "CA", code="CM1-XXXX", find="1"))
    assert "No sheet of this class has this code." in lost.content.decode()


def test_pupils_who_sat_in_the_browser_have_no_field(assignment, teacher, pupil, client_of):
    make_sitting(assignment, pupil, choices="C")
    page = client_of(teacher).get(address(assignment)).content.decode()
    assert "Sat in the browser, so not here:" in page
    assert f"answers-{pupil.pk}" not in page


def test_paper_sittings_are_exported_with_the_rest(assignment, teacher, pupil, client_of):
    enter(assignment, teacher, PaperAnswers(pupil, 1, "CAE"))
    rows = b"".join(client_of(teacher).get("/results/answers.csv").streaming_content).decode()
    assert rows.count("Fenna") == 3
