"""What adults do with sets that are sent: to whom, when, how marked, typed in from paper, printed."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta

from django.urls import reverse

from accounts.models import Role
from assignments.models import AssignedQuestion, Assignment, Feedback, PrintOrder
from assignments.services import assigning, paper_marks, parallel, practice, printing, rulings, timing
from assignments.services.clock import database_now
from assignments.timekeeping import UNTIMED
from bank.models import State
from tests.histories.crawl import Fault, filled
from tests.histories.deeds_bank import keep_variant
from tests.histories.life import Life, Nothing

LETTERS = "ABCDE"


def assign(life: Life) -> None:
    held = life.one(life.sets())
    school_class = life.one(life.classes().filter(archived_at=None))
    pupils = [one.pupil for one in school_class.enrolments.select_related("pupil").order_by("pk")]
    now = database_now()
    beside = parallel.parallel_sets(held)
    untimed = life.maybe(0.2)
    terms = assigning.Terms(
        opens_at=now + timedelta(minutes=life.lot.choice([-60, -10, -1, -1, -1, 30])),
        closes_at=now + timedelta(minutes=life.lot.choice([40, 200, 3000])),
        allowance=UNTIMED if untimed else life.lot.choice([60, 600, 3000]),
        question_seconds=life.lot.choice([None, None, None, 30]),
        feedback=life.lot.choice(Feedback.values),
        closing_cuts=untimed or life.maybe(0.3),
        shuffle_questions=life.maybe(),
        shuffle_options=life.maybe(),
        extra_times={one.pk: life.lot.choice([0, 25, 100]) for one in pupils if life.maybe(0.3)},
        only=[one.pk for one in life.some(pupils)] if pupils and life.maybe(0.2) else (),
        second_set=life.lot.choice(beside) if beside and life.maybe(0.7) else None,
    )
    assigning.assign_set(question_set=held, school_class=school_class, terms=terms, by=life.teacher)


def send_two_papers(life: Life) -> None:
    """A set, its variants, and both sent together: by pure chance it would seldom come to this."""
    for question in life.questions().filter(origin=None, state=State.READY).order_by("pk")[:3]:
        if not life.questions().filter(origin=question).exists():
            with suppress(Nothing):
                keep_variant(life, question)
    fit = [one for one in life.sets().filter(retired_at=None) if any(v for _, v in parallel.pairs_of(one))]
    held = life.one(fit)
    parallel.make_parallel_set(pairs=parallel.pairs_of(held), title=life.name("Parallel"), by=life.teacher)
    now = database_now()
    terms = assigning.Terms(
        opens_at=now - timedelta(minutes=1),
        closes_at=now + timedelta(minutes=200),
        allowance=600,
        feedback=life.lot.choice(Feedback.values),
        shuffle_questions=life.maybe(),
        shuffle_options=life.maybe(),
        second_set=life.one(parallel.parallel_sets(held)),
    )
    school_class = life.one(life.classes().filter(archived_at=None))
    assigning.assign_set(question_set=held, school_class=school_class, terms=terms, by=life.teacher)


def change_closing(life: Life) -> None:
    minutes = life.lot.choice([-30, 1, 60, 3000])
    assigning.change_closing(
        assignment=life.one(life.assignments()),
        closes_at=database_now() + timedelta(minutes=minutes),
        at=database_now(),
    )


def take_back(life: Life) -> None:
    assigning.take_back(assignment=life.one(life.assignments()))


def change_marking(life: Life) -> None:
    question = life.one(AssignedQuestion.objects.filter(assignment__in=life.assignments()))
    assignment, deed = question.assignment, life.lot.randrange(4)
    if deed == 0:
        rulings.correct_for_guessing(assignment=assignment, on=life.maybe(), by=life.teacher)
    elif deed == 1:
        rulings.count_late(assignment=assignment, on=life.maybe(0.8), by=life.teacher)
    else:
        accepts = "".join(life.lot.sample(LETTERS, life.lot.choice([0, 1, 2])))
        rulings.rule_on(question=question, accepts=accepts, reason="Seen anew", by=life.teacher, at=database_now())


def practise(life: Life) -> None:
    assignment = life.one(life.assignments().filter(school_class__archived_at=None))
    question = life.one(assignment.questions.all())
    kinds = sorted({m["kind"] for o in question.version.options["options"] for m in o["mistakes"]})
    pupils = [one.pupil for one in assignment.school_class.enrolments.all()]
    practice.practice_for(
        kind=life.one(kinds),
        pupils=life.some(pupils),
        school_class=assignment.school_class,
        by=life.teacher,
        at=database_now(),
    )


def change_time(life: Life) -> None:
    facts = {"by": life.teacher, "at": database_now(), "note": "Fire drill"}
    deed = life.lot.randrange(8)
    if deed < 4:
        assignment = life.one(life.assignments())
        if deed == 0:
            timing.add_time(assignment=assignment, seconds=life.lot.choice([60, 600]), **facts)
        elif deed == 1:
            timing.end_all(assignment=assignment, **facts)
        elif timing.is_paused(assignment):
            timing.resume_all(assignment=assignment, **facts)
        else:
            timing.pause_all(assignment=assignment, **facts)
        return
    sitting = life.one(life.sittings())
    facts["note"] = f"{sitting.pupil.name} was ill"
    if deed == 4:
        timing.extend_one(sitting=sitting, seconds=300, **facts)
    elif deed == 5:
        timing.end_one(sitting=sitting, **facts)
    else:
        timing.reopen(sitting=sitting, seconds=300, **facts)


def type_in(life: Life) -> None:
    assignment = life.one(life.assignments())
    pupils = life.some([one.pupil for one in assignment.school_class.enrolments.all()])
    now = database_now()
    sat = set(assignment.sittings.filter(entered_at=None).values_list("pupil", flat=True))
    count = assignment.questions.filter(paper=1).count()
    papers = [
        paper_marks.PaperAnswers(
            one,
            life.lot.choice(paper_marks.papers_printed(assignment)),
            "".join(life.lot.choices(LETTERS + "-", k=count)) if life.maybe(0.9) else "",
        )
        for one in pupils
        if one.pk not in sat or life.maybe(0.05)
    ]
    paper_marks.enter_answers(
        assignment=assignment,
        answers=papers,
        sat_at=max(assignment.opens_at, now - timedelta(hours=1)),
        by=life.teacher,
        at=now,
    )


def print_something(life: Life) -> None:
    adult = life.one([one for one in life.adults() if one.role in (Role.TEACHER, Role.HEAD)])
    walker = life.walker(adult)
    if life.maybe(0.3):
        address = reverse("assignments:print", args=[life.one(life.sets()).pk])
    else:
        mine = Assignment.objects.visible_to(adult)
        address = reverse("assignments:print_assignment", args=[life.one(mine).pk])
    page = walker.follow(address, offered_by="a set")
    form = next((form for form in page.forms if "kinds" in form.fields), None)
    if form is None:
        raise Nothing
    sent = filled(form, life.lot, changes=0.5)
    sent["seconds"] = ["10:00"]
    sent["kinds"] = life.lot.sample(["booklet", "sheets", "scheme", "lesson"], life.lot.randint(1, 2))
    answer = walker.post(address, sent)
    life.told.append(f"printing {address} {sent} {answer.status}")
    for order in PrintOrder.objects.filter(asked_by=adult, ended_at=None):
        printing.make_files(order=order)
        order.refresh_from_db()
        if order.failed or order.files.count() != order.wanted:
            raise Fault(f"{address}: failed to print {sent}")
        for file in order.files.all():
            if not bytes(file.pdf).startswith(b"%PDF") or not file.pages:
                raise Fault(f"{address}: {file.title} is no PDF")


DEEDS = {
    assign: 7,
    send_two_papers: 3,
    change_closing: 2,
    take_back: 1,
    change_marking: 4,
    practise: 2,
    change_time: 5,
    type_in: 5,
    print_something: 2,
}
