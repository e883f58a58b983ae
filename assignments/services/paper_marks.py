"""Keep the answers that pupils gave on paper, as an adult types them in: they join the results as sittings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from django.db import IntegrityError, transaction

from accounts.models import User
from accounts.trail import Deed, record
from assignments.errors import SatInBrowser
from assignments.models import AssignedQuestion, Assignment, Event, Sitting
from assignments.paper.shuffles import MOST_PAPERS, arrange
from assignments.papers import LETTERS, Paper, numbered, places
from assignments.queries import acts_of, questions_of
from assignments.services.sittings import extra_percent
from assignments.timekeeping import with_extra

LEFT_OUT = "-"


@dataclass(frozen=True)
class PaperAnswers:
    """One pupil's paper: its number, and a letter as printed there for each of its questions, "-" for none.

    Without any letters it is no paper: one typed in by mistake is taken away.
    """

    pupil: User
    paper: int
    letters: str


def enter_answers(
    *, assignment: Assignment, answers: Sequence[PaperAnswers], sat_at: datetime, by: User, at: datetime
) -> int:
    """Keep all of these papers or none; return how many are new, changed or taken away.

    Typing a pupil's paper in once more replaces what was typed before, but not the day it was sat. Raises
    ``SatInBrowser`` for pupils who answered the set there: theirs stays.
    """
    questions = questions_of(assignment)
    kept = 0
    with transaction.atomic():
        _refuse_browser_sittings(assignment, answers)
        for one in answers:
            kept += _enter(assignment, questions, one, sat_at, by, at)
        about = {"assignment": assignment.pk, "class": assignment.school_class_id, "papers": kept}
        record(Deed.ANSWERS_TYPED, by=by, at=at, about=about)
    return kept


def paper_of(assignment: Assignment, number: int, questions: Sequence[AssignedQuestion]) -> Paper:
    """Return the paper of that number as a sitting keeps it: one of those assigned, or an order of the only one."""
    several = assignment.papers > 1
    asked = [question for question in questions if question.paper == (number if several else 1)]
    by_version = {question.version_id: question.pk for question in asked}
    printed = arrange(assignment.question_set_id, 1 if several else number, [question.version for question in asked])
    paper: Paper = [{"question": by_version[one.version.pk], "order": one.order} for one in printed]
    return numbered(paper, number if several else 0)


def papers_printed(assignment: Assignment) -> range:
    """Return the numbers of the papers that pupils may have had in hand: those assigned, or orders of the only one."""
    return range(1, (assignment.papers if assignment.papers > 1 else MOST_PAPERS) + 1)


def typed_answers(assignment: Assignment) -> dict[int, tuple[int, str]]:
    """Return what is typed in so far: by the pupil's primary key the paper's number, and its letters as printed."""
    questions = questions_of(assignment)
    papers = {number: paper_of(assignment, number, questions) for number in papers_printed(assignment)}
    sittings = list(assignment.sittings.exclude(entered_at=None))
    acts = acts_of(sittings)
    return {
        sitting.pupil_id: (
            next((number for number, paper in papers.items() if paper == sitting.paper), 1),
            _as_printed(sitting.paper, {act.question: act.option for act in acts[sitting.pk]}),
        )
        for sitting in sittings
    }


def _as_printed(paper: Paper, choices: dict[int, str]) -> str:
    return "".join(place.shown(choices.get(place.question, "")) or LEFT_OUT for place in places(paper))


def _refuse_browser_sittings(assignment: Assignment, answers: Iterable[PaperAnswers]) -> None:
    pupils = [one.pupil.pk for one in answers]
    theirs = assignment.sittings.filter(entered_at=None, pupil__in=pupils).select_related("pupil")
    names = [sitting.pupil.name for sitting in theirs]
    if names:
        raise SatInBrowser(names)


def _enter(
    assignment: Assignment,
    questions: Sequence[AssignedQuestion],
    one: PaperAnswers,
    sat_at: datetime,
    by: User,
    at: datetime,
) -> bool:
    """Keep one paper under a new epoch, unless just this is kept already. Of two at once the later finds the first."""
    paper = paper_of(assignment, one.paper, questions)
    held = assignment.sittings.select_for_update(of=("self",)).filter(pupil=one.pupil).first()
    if not one.letters:
        return held is not None and bool(held.delete()[0])
    if held is None:
        held = _begin(assignment, one.pupil, paper, sat_at, by, at)
    elif held.paper == paper and _choices(held) == _read(paper, one.letters):
        return False
    else:
        held.paper, held.entered_at, held.entered_by, held.epoch = paper, at, by, held.epoch + 1
        held.save(update_fields=["paper", "entered_at", "entered_by", "epoch"])
    Event.objects.bulk_create(_events(held, one.letters))
    return True


def _begin(assignment: Assignment, pupil: User, paper: Paper, sat_at: datetime, by: User, at: datetime) -> Sitting:
    percent = extra_percent(assignment, pupil)
    try:
        with transaction.atomic():
            return Sitting.objects.create(
                assignment=assignment,
                pupil=pupil,
                started_at=sat_at,
                finished_at=sat_at,
                allowance=with_extra(assignment.allowance, percent),
                extra_percent=percent,
                paper=paper,
                entered_at=at,
                entered_by=by,
            )
    except IntegrityError as begun:
        raise SatInBrowser([pupil.name]) from begun


def _read(paper: Paper, letters: str) -> dict[int, str]:
    """Return the versions' letters by question id, of the questions that were answered."""
    pairs = zip(places(paper), letters, strict=True)
    return {place.question: place.order[LETTERS.index(letter)] for place, letter in pairs if letter != LEFT_OUT}


def _choices(sitting: Sitting) -> dict[int, str]:
    typed = sitting.events.filter(epoch=sitting.epoch, kind=Event.Kind.CHOOSE)
    return dict(typed.values_list("question", "option"))


def _events(sitting: Sitting, letters: str) -> list[Event]:
    """One choice for each answer. Paper tells no times, so all are of the time it was sat."""
    return [
        Event(
            sitting=sitting,
            question_id=question,
            kind=Event.Kind.CHOOSE,
            option=option,
            client_id=uuid4(),
            epoch=sitting.epoch,
            seq=seq,
            received_at=sitting.started_at,
        )
        for seq, (question, option) in enumerate(_read(sitting.paper, letters).items(), 1)
    ]
