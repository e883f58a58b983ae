"""A small school for tests in processes of their own: ``python -m tests.small_school`` makes it and prints it as JSON.

Made through the services, so it is a school as people would have made it: six questions (or as many as the command
says), a set of them that is open now, and the same set closed, sat by two pupils.
"""

from __future__ import annotations

import json
import sys
from datetime import timedelta
from uuid import uuid4

import django

# Each fold brings one point to another; then one punch: shape, place, size.
SPECS = (
    ([("0 0", "1 1")], ("disc", "3/5 4/5", "1/10")),
    ([("0 0", "1 0")], ("heart", "3/4 3/4", "1/6")),
    ([("0 0", "0 1"), ("0 1", "1 1")], ("triangle", "4/5 3/4", "1/6")),
    ([("0 0", "1 0"), ("1 0", "1 1")], ("drop", "7/10 4/5", "1/6")),
    ([("1 0", "0 1"), ("0 0", "1 1")], ("L-piece", "1/2 3/4", "1/6")),
    ([("0 1", "0 0"), ("0 0", "1/2 0")], ("half-disc", "3/5 1/4", "1/6")),
)
PASSWORD = "five-folds-in-a-row"
ADULTS = {
    "teacher": ("Tilda Wren", "tilda@fernhollow.example"),
    "head": ("Horace Lund", "horace@fernhollow.example"),
    "administrator": ("Ada Brook", "ada@fernhollow.example"),
}
PUPILS = {
    "Mina": "104729",
    "Ola": "224737",
    "Per": "350377",
    "Quim": "479909",
    "Rika": "611953",
    "Sefa": "746773",
    "Tove": "882377",
    "Vida": "927961",
    "Zed": "998244",
}
RESTING = ("Rika", "Vida")  # may take rest breaks
TITLE = "Warm-up"


def spec_of(folds: list[tuple[str, str]], punch: tuple[str, str, str]) -> dict:
    shape, at, size = punch
    return {
        "version": 1,
        "sheet": {"kind": "square"},
        "folds": [{"bring": here.split(), "to": there.split()} for here, there in folds],
        "punches": [{"shape": shape, "at": at.split(), "size": size, "turn": 0}],
    }


def make_school(*, questions: int) -> dict:
    """Make everything and return what a test must know to use it."""
    from django.utils import timezone

    from accounts.models import Role
    from accounts.services import cards, classes, people
    from geometry.option_sets import make_options
    from geometry.spec import read_spec
    from tests.bank.factories import make_batch

    school = people.create_school(name="Fernhollow School")
    adults = {
        role: people.create_adult(school=school, role=Role(role), name=name, email=email, password=PASSWORD, by=None)
        for role, (name, email) in ADULTS.items()
    }
    teacher = adults["teacher"]
    school_class = classes.create_class(school=school, name="6 Wren", teachers=[teacher], by=None)
    new = [cards.NewPupil(name, pin=pin, rest_breaks=name in RESTING) for name, pin in PUPILS.items()]
    pupils = [card.pupil for card in classes.add_pupils(school_class=school_class, pupils=new, by=None)]
    assignments = make_sets(teacher, school_class, pupils, questions)
    return {
        "code": school_class.code,
        "password": PASSWORD,
        "emails": {role: email for role, (_, email) in ADULTS.items()},
        "pins": PUPILS,
        "class": school_class.pk,
        "pupils": {pupil.name: pupil.pk for pupil in pupils},
        "staff": adults["head"].pk,
        "batch": make_batch(teacher, make_options(read_spec(spec_of(*SPECS[1])), seed=1)).pk,
        "token": people.invite(user=adults["head"], by=None, at=timezone.now()),
        **assignments,
    }


def make_sets(teacher, school_class, pupils, count) -> dict:
    from django.utils import timezone

    from assignments.services.assigning import Terms, assign_set
    from assignments.services.sets import add_questions, make_set
    from bank.services.importing import look_over

    now = timezone.now()
    question_set = make_set(title=TITLE, by=teacher)
    questions = make_questions(teacher, count)
    add_questions(question_set=question_set, questions=questions)
    begun = now - timedelta(days=3)
    past = Terms(opens_at=begun, closes_at=begun + timedelta(days=1), allowance=180)
    present = Terms(opens_at=now - timedelta(minutes=1), closes_at=now + timedelta(days=1), allowance=1800)
    closed, opened = (
        assign_set(question_set=question_set, school_class=school_class, terms=terms, by=teacher)
        for terms in (past, present)
    )
    sat = [sit(closed, pupil, begun + timedelta(minutes=5)) for pupil in pupils[:2]]
    return {
        "set": question_set.pk,
        "questions": [question.pk for question in questions],
        "closed": closed.pk,
        "open": opened.pk,
        "sittings": sat,
        "import": look_over(data=file_to_bring_in(questions), by=teacher, at=now).pk,
        "version": questions[0].current.pk,
    }


def file_to_bring_in(questions) -> bytes:
    """A file with a new question, one that the bank has, and one that cannot be folded."""
    from bank.exchange.writing import question_json, write_file
    from geometry.option_sets import make_options
    from geometry.spec import read_spec

    whole = json.loads(write_file(questions[:1]))
    new = make_options(
        read_spec(spec_of([("0 1", "1 1"), ("1 1", "1 0")], ("star", "3/4 1/4", "1/7"))), seed=1
    ).to_json()
    told = {"spec": new["spec"], "key": new["key"], "tags": ["brought in"]}
    told["options"] = [{name: option[name] for name in ("label", "holes", "mistakes")} for option in new["options"]]
    broken = question_json(questions[0]) | {"spec": spec_of([("0 0", "0 0")], ("disc", "1/2 1/2", "1/10"))}
    whole["questions"] += [told, broken]
    return json.dumps(whole).encode()


def make_questions(teacher, count) -> list:
    from bank.services.questions import save_question
    from geometry.option_sets import make_options
    from geometry.spec import read_spec

    specs = [read_spec(spec_of(*parts)) for parts in SPECS[:count]]
    return [
        save_question(
            school=teacher.school,
            author=teacher,
            spec=spec,
            option_set=make_options(spec, seed=place),
            tags=["warm-up", f"{len(spec.folds)} folds"],
            state="ready",
        )
        for place, spec in enumerate(specs)
    ]


def sit(assignment, pupil, at) -> int:
    """Answer every question, the odd places right, the even ones with the first wrong option; return the number."""
    from assignments.services.sittings import finish_sitting, record_event, start_sitting

    sitting = start_sitting(assignment=assignment, pupil=pupil, device="test", at=at)
    keys = dict(assignment.questions.values_list("pk", "version__options__key"))
    for number, place in enumerate(sitting.paper, 1):
        key = keys[place["question"]]
        record_event(
            sitting=sitting,
            question_id=place["question"],
            kind="choose",
            option=key if number % 2 else min(set("ABCDE") - {key}),
            client_id=uuid4(),
            epoch=1,
            seq=number,
            at=at + timedelta(seconds=10 * number),
        )
    return finish_sitting(sitting=sitting, at=at + timedelta(seconds=100)).pk


if __name__ == "__main__":
    django.setup()
    print(json.dumps(make_school(questions=int(*sys.argv[1:] or ["6"]))))
