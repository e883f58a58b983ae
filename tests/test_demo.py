"""The demonstration school: what it holds, that loading it twice is loading it once, and what its block says."""

from __future__ import annotations

import re
import socket
from collections import Counter
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone

from accounts import pins
from accounts.models import Role, School, SchoolClass, User
from assignments.models import Assignment, Event, Sitting
from bank.models import Question, State
from config.demo import load
from config.demo.cards import cards
from config.demo.minds import kinds_of
from config.demo.sets import keep_open
from tests.permission_world import all_rows

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def _loaded(django_db_setup, django_db_blocker):
    """The school, made once for this module and undone after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        load(say=lambda words: None)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def school(_loaded, db) -> School:
    return School.objects.get()


def test_the_school_has_its_people(school):
    roles = list(User.objects.values_list("role", flat=True))
    assert {role: roles.count(role) for role in set(roles)} == {
        Role.PUPIL: 75,
        Role.TEACHER: 2,
        Role.HEAD: 1,
        Role.ADMINISTRATOR: 1,
    }
    assert SchoolClass.objects.count() == 3


def test_forty_questions_rise_in_difficulty_and_eight_have_variants_and_all_pass_their_checks(school):
    questions = list(Question.objects.select_related("current").prefetch_related("tags").order_by("number"))
    levels = [question.current.level for question in questions if question.origin_id is None]
    assert len(levels) == 40
    assert len(questions) == 48
    assert levels == sorted(levels)
    assert set(levels) == {1, 2, 3, 4, 5}
    assert all(q.state == State.READY and q.tags.all() and not q.current.failed_checks for q in questions)
    assert len({question.current.fingerprint for question in questions}) == 48


def test_a_set_is_open_for_every_class_and_others_were_sat_one_of_them_as_two_papers(school):
    now = timezone.now()
    running = Assignment.objects.filter(opens_at__lte=now, closes_at__gt=now)
    assert running.count() == 3
    assert not Sitting.objects.filter(assignment__in=running).exists()
    over = Assignment.objects.filter(closes_at__lte=now)
    asked_and_sat = {one.school_class.name: (one.questions.count(), one.sittings.count()) for one in over}
    assert asked_and_sat == {"5 Heron": (16, 23), "6 Kite": (12, 25), "6 Plover": (12, 24)}
    two = over.get(school_class__name="5 Heron")
    assert two.papers == 2
    assert [len({entry["question"] for entry in sitting.paper}) for sitting in two.sittings.all()] == [8] * 23
    assert sorted(Counter(sitting.paper[0]["paper"] for sitting in two.sittings.all()).items()) == [(1, 12), (2, 11)]


def test_answers_are_those_of_pupils_who_differ(school):
    """Between guessing (a fifth) and knowing, with spread, and some who ran out of time."""
    shares = []
    for sitting in Sitting.objects.prefetch_related("events__question__version"):
        chosen = {event.question_id: event for event in sitting.events.all() if event.kind == Event.Kind.CHOOSE}
        right = [event.option == event.question.version.key for event in chosen.values()]
        shares.append(sum(right) / len(sitting.paper))
    assert 0.35 < sum(shares) / len(shares) < 0.85
    assert min(shares) < 0.35
    assert max(shares) > 0.85
    assert Sitting.objects.filter(finished_at=None).exists()


def test_some_pupils_keep_making_one_kind_of_mistake(school):
    habits = 0
    for sitting in Sitting.objects.prefetch_related("events__question__version"):
        made = [kinds_of(e.question.version).get(e.option) for e in sitting.events.all() if e.option]
        wrong = [kind for kind in made if kind]
        habits += any(wrong.count(kind) >= 3 for kind in set(wrong))
    assert habits >= 5


def test_loading_again_changes_nothing(school):
    before = all_rows()
    assert load(say=pytest.fail) == school
    assert all_rows() == before


def test_what_users_changed_is_kept(school):
    Question.objects.filter(number=3).update(note="mine", state=State.RETIRED)
    load(say=pytest.fail)
    assert Question.objects.get(number=3).note == "mine"


def test_weeks_later_a_set_is_open_again(school):
    later = timezone.now() + timedelta(days=60)
    keep_open(school=school, at=later)
    assert Assignment.objects.filter(opens_at__lte=later, closes_at__gt=later).count() == 3


def test_the_block_names_people_who_can_sign_in(school):
    block = cards(school=school, address="http://127.0.0.1:8000")
    adults = re.findall(r"(\S+@\S+) +(\S+)$", block, re.M)
    assert len(adults) == 4
    assert all(User.objects.get(email=email).check_password(word) for email, word in adults)
    for school_class in SchoolClass.objects.all():
        line = next(line for line in block.splitlines() if school_class.code in line)
        shown = re.findall(r"(\w+) (\d{6})", line)
        assert len(shown) == 3
        for name, pin in shown:
            assert pins.is_right(pin, User.objects.get(name=name, enrolments__school_class=school_class).password)


def test_the_block_stays_true_when_passwords_and_pins_change(school):
    head = User.objects.get(role=Role.HEAD)
    head.set_password("another-word-altogether")
    head.save()
    first = User.objects.get(name="Abena")
    first.password = pins.hash_pin("000000")
    first.save()
    block = cards(school=school, address="http://127.0.0.1:8000")
    assert f"{head.email:<38} (the password has been changed)" in block
    assert "Abena" not in block


def test_credentials_differ_from_one_installation_to_the_next(settings):
    from config.demo import people

    here = people.password(), people.pin_of("Abena")
    settings.SECRET_KEY = "another-installation-" + "z" * 40
    assert people.password() != here[0]
    assert people.pin_of("Abena") != here[1]


def test_a_taken_port_is_said_before_anything_is_made(monkeypatch):
    monkeypatch.setattr("config.management.commands.demo.load", pytest.fail)
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        line.listen()
        with pytest.raises(CommandError, match="is taken; choose another, as in: make demo PORT="):
            call_command("demo", port=line.getsockname()[1], stdout=StringIO())
