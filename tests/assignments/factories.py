"""Questions, sets, assignments and sittings for tests, made as plainly as the database allows.

The versions are written by hand in the stored JSON format, so that what a test expects can be read off them. Each
stands for one fold of a square, left half over right half, with one disc punched; the five pictures show the disc
and its copy in five ways, of which the version's key is right. Option i + 1 after the key (A after E) stands for
the i-th of ``MISTAKES``.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from uuid import uuid4

from accounts.models import School, SchoolClass, User
from assignments.models import (
    AssignedQuestion,
    Assignment,
    Event,
    Feedback,
    PrintedFile,
    PrintOrder,
    QuestionSet,
    SetEntry,
    Sitting,
)
from assignments.papers import draw_paper
from bank.models import Picture, Question, State, Tag, Version

NOON = datetime(2026, 5, 14, 12, 0, tzinfo=UTC)
LETTERS = "ABCDE"
MISTAKES = (
    ("slid", 1, "The copy was slid across the crease. It should be mirrored."),
    ("not-opened", 1, "Fold 1 was not opened, so the copy is missing."),
    ("wrong-line", 1, "The copy was mirrored in a level line. The crease is upright."),
    ("turned-punch", 1, "The shape was turned before the paper was opened."),
)
SPEC = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"crease": [["1/2", "0"], ["1/2", "1"]], "moves": ["0", "1/2"], "way": "over", "layers": "all"}],
    "punches": [{"shape": "disc", "at": ["3/4", "3/4"], "size": "1/8", "turn": 0}],
}
DIFFICULTY = {"level": 2, "facility": 0.75, "features": {}}
_number = count(1)


def square_hole(x: float, y: float, half: float = 0.05) -> dict:
    outline = [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
    return {"outline": outline}


def options_with_key(key: str) -> dict:
    """The stored option set of a version whose right option is ``key``."""
    others = [LETTERS[(LETTERS.index(key) + step) % 5] for step in range(1, 5)]
    behind = dict(zip(others, MISTAKES, strict=True))
    places = {"right": [(0.25, 0.75), (0.75, 0.75)], "slid": [(0.15, 0.75), (0.75, 0.75)]}
    places |= {"not-opened": [(0.75, 0.75)], "wrong-line": [(0.75, 0.25), (0.75, 0.75)]}
    places |= {"turned-punch": [(0.25, 0.7), (0.75, 0.7)]}
    options = []
    for letter in LETTERS:
        kind, fold, says = behind.get(letter, ("right", None, ""))
        mistakes = [{"kind": kind, "fold": fold, "hole": None, "says": says}] if letter != key else []
        holes = [square_hole(x, y) for x, y in places[kind]]
        options.append({"label": letter, "holes": holes, "mistakes": mistakes, "first_wrong_fold": fold})
    facts = {"key": key, "options": options, "spec": SPEC, "punches": [square_hole(0.75, 0.75)["outline"]]}
    return facts | {"sets": "teaching", "guessability": None, "difficulty": DIFFICULTY, "fingerprint": "f" * 8}


def make_question(
    school: School,
    *,
    key: str = "C",
    state: str = State.READY,
    level: int = 2,
    folds: int = 1,
    tags: tuple[str, ...] = (),
    failing: str = "",
) -> Question:
    number = next(_number)
    question = Question.objects.create(school=school, number=number, state=state)
    checks = [{"name": "shown", "ok": not failing, "says": failing or "All five pictures differ."}]
    question.current = Version.objects.create(
        question=question,
        number=1,
        spec=SPEC,
        options=options_with_key(key),
        checks=checks,
        level=level,
        folds=folds,
        punches=1,
        fingerprint=f"{number:064x}",
    )
    question.level, question.folds = level, folds
    question.save()
    question.tags.set([Tag.objects.get_or_create(school=school, name=name)[0] for name in tags])
    draw_by_hand(question.current)
    return question


def draw_by_hand(version: Version) -> None:
    """Give the version all its pictures, tiny, each told from the others by a number no page could guess."""
    frames = [(kind, version.folds + 1) for kind in ("stem", "thumb", "step")] + [("option", 5)]
    Picture.objects.bulk_create(
        Picture(
            version=version,
            kind=kind,
            place=place,
            name=uuid4().hex,
            title=f"Option {LETTERS[place]}" if kind == "option" else f"Picture {place}",
            svg=drawn(version, kind, place),
            has_png=True,
        )
        for kind, places in frames
        for place in range(places)
    )


def drawn(version: Version, kind: str, place: int) -> str:
    """What ``draw_by_hand`` draws, to be looked for in a page."""
    across = {"stem": 100, "option": 200, "step": 300, "thumb": 400}[kind] + 10 * place
    return f'<svg viewBox="0 0 1000 1000" role="img"><path d="M{across} {version.pk}Z"/></svg>'


def make_set(school: School, questions: list[Question], title: str = "Thursday set") -> QuestionSet:
    question_set = QuestionSet.objects.create(school=school, title=title)
    SetEntry.objects.bulk_create(
        SetEntry(question_set=question_set, question=question, position=position)
        for position, question in enumerate(questions, 1)
    )
    return question_set


def make_assignment(
    school_class: SchoolClass,
    keys: str = "CAE",
    *,
    title: str = "Thursday set",
    opens_at: datetime = NOON,
    closes_at: datetime | None = None,
    allowance: int = 90,
    feedback: str = Feedback.AFTER_CLOSE,
    **others: object,
) -> Assignment:
    """An assignment of one question for each of ``keys``, open from noon for a day, with 90 seconds' allowance."""
    questions = [make_question(school_class.school, key=key) for key in keys]
    assignment = Assignment.objects.create(
        question_set=make_set(school_class.school, questions, title),
        school_class=school_class,
        title=title,
        opens_at=opens_at,
        closes_at=closes_at or opens_at + timedelta(days=1),
        allowance=allowance,
        feedback=feedback,
        **others,
    )
    AssignedQuestion.objects.bulk_create(
        AssignedQuestion(assignment=assignment, version=question.current, position=position)
        for position, question in enumerate(questions, 1)
    )
    return assignment


def make_sitting(
    assignment: Assignment, pupil: User, *, started_at: datetime = NOON, choices: str = "", **others: object
) -> Sitting:
    """A sitting in the set's own order. ``choices`` are letters of the versions, ten seconds apart; "-" is none."""
    questions = list(assignment.questions.order_by("position"))
    paper = draw_paper([q.pk for q in questions], None, shuffle_questions=False, shuffle_options=False)
    facts = {"allowance": assignment.allowance, "device": "tablet"} | others
    sitting = Sitting.objects.create(assignment=assignment, pupil=pupil, started_at=started_at, paper=paper, **facts)
    for place, letter in enumerate(choices, 1):
        if letter != "-":
            choose(sitting, place, letter, seq=place, at=started_at + timedelta(seconds=10 * place))
    return sitting


def choose(
    sitting: Sitting,
    place: int,
    letter: str,
    *,
    seq: int,
    at: datetime,
    epoch: int = 1,
    kind: str = "choose",
    is_late: bool = False,
) -> Event:
    """Write an event as it would stand after it was kept, past the service that decides."""
    return Event.objects.create(
        sitting=sitting,
        question_id=sitting.paper[place - 1]["question"],
        kind=kind,
        option=letter,
        client_id=uuid4(),
        epoch=epoch,
        seq=seq,
        received_at=at,
        is_late=is_late,
    )


def make_print(question_set: QuestionSet, by: User, *, at: datetime = NOON) -> PrintOrder:
    """An order of no kinds, with one file in it all the same."""
    order = PrintOrder.objects.create(
        question_set=question_set, asked_by=by, asked_at=at, choices={"kinds": []}, wanted=1, ended_at=at
    )
    PrintedFile.objects.create(order=order, place=1, title="Booklet", pages=1, pdf=b"%PDF-1.7")
    return order
