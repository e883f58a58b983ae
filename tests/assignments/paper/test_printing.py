"""Orders of files to print: made, made once, seen by whoever asked, forgotten after a day."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from kombu.exceptions import OperationalError

from assignments.errors import SetError
from assignments.models import PrintedFile, PrintOrder
from assignments.paper.orders import Choices
from assignments.services.printing import KEPT, make_files, material_of, order_print
from assignments.tasks import forget_prints, print_order
from tests.assignments.factories import NOON, make_assignment, make_print, make_question, make_set
from tests.assignments.paper.material import sizes, texts
from tests.factories import enrol, make_pupil

EVERYTHING = {
    "kinds": ["booklet", "sheets", "scheme", "lesson"],
    "page": "a4",
    "print": "ordinary",
    "a_page": "3",
    "papers": "2",
    "seconds": "6:00",
    "named": "on",
}


@pytest.fixture
def assignment(school_class, pupil):
    enrol(make_pupil(school_class.school, "Aine"), school_class)
    return make_assignment(school_class, "CAE", opens_at=timezone.now())


def test_everything_of_an_assignment_is_made_in_one_go(
    assignment, teacher, client_of, django_capture_on_commit_callbacks
):
    client = client_of(teacher)
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(f"/results/{assignment.pk}/print/", EVERYTHING)
    order = PrintOrder.objects.get()
    assert answer["Location"] == f"/print/{order.pk}/"
    assert order.ended_at is not None
    assert not order.failed
    titles = [file.title for file in order.files.all()]
    assert titles == [
        "Booklet, Paper 1",
        "Booklet, Paper 2",
        "Answer sheets, one for each pupil",
        "Mark scheme, Paper 1",
        "Mark scheme, Paper 2",
        "Lesson sheets",
    ]
    assert order.wanted == len(titles)
    page = client.get(answer["Location"]).content.decode()
    for file in order.files.all():
        got = client.get(f"/print/{order.pk}/{file.place}/")
        assert got["Content-Type"] == "application/pdf"
        assert len(sizes(got.content)) == file.pages
        assert file.title in page
    named = texts(bytes(order.files.get(place=3).pdf))
    assert "Aine" in named[0]
    assert "Fenna" in named[1]


def test_a_set_is_printed_with_blank_sheets_one_for_each_paper(school, teacher):
    question_set = make_set(school, [make_question(school), make_question(school)])
    choices = Choices(kinds=("sheets",), papers=3, named=True)
    order = order_print(question_set=question_set, assignment=None, choices=choices, by=teacher, at=NOON)
    assert make_files(order=order) == 1
    assert order.files.get().title == "Answer sheets to copy"  # no class, so nobody to name
    assert order.files.get().pages == 3


def test_what_was_assigned_is_printed_whatever_the_set_has_become(assignment, school):
    assignment.question_set.entries.all().delete()
    assert [version.key for version in material_of(assignment.question_set, assignment).versions] == ["C", "A", "E"]


def test_a_set_without_questions_is_not_printed_and_says_why(school, teacher, client_of):
    empty = make_set(school, [])
    with pytest.raises(SetError):
        order_print(question_set=empty, assignment=None, choices=Choices(("booklet",)), by=teacher, at=NOON)
    answer = client_of(teacher).post(f"/sets/{empty.pk}/print/", EVERYTHING)
    assert answer.status_code == 400
    assert "no questions yet" in answer.content.decode()


def test_nothing_ticked_is_said_beside_the_boxes_and_the_rest_stays(assignment, teacher, client_of):
    typed = EVERYTHING | {"kinds": [], "seconds": "7:30"}
    answer = client_of(teacher).post(f"/results/{assignment.pk}/print/", typed)
    assert answer.status_code == 400
    page = answer.content.decode()
    assert "Tick what to print." in page
    assert 'value="7:30"' in page
    assert not PrintOrder.objects.exists()


@pytest.mark.parametrize("time", ["", "soon", "7:99"])
def test_a_time_that_is_none_is_answered_with_how_to_write_one(time, assignment, teacher, client_of):
    answer = client_of(teacher).post(f"/results/{assignment.pk}/print/", EVERYTHING | {"seconds": time})
    assert answer.status_code == 400
    assert "Write minutes and seconds, for instance 6:00." in answer.content.decode()


def test_files_are_made_once_however_often_the_work_is_repeated(assignment, teacher):
    choices = Choices(kinds=("booklet", "scheme"))
    order = order_print(
        question_set=assignment.question_set, assignment=assignment, choices=choices, by=teacher, at=NOON
    )
    assert print_order(order.pk) == 2
    before = list(order.files.values_list("pk", flat=True))
    order.files.get(place=2).delete()  # a worker killed after the first file
    assert make_files(order=order) == 1
    assert make_files(order=order) == 0
    assert order.files.count() == len(before)
    assert print_order(order.pk + 1) == 0


def test_while_the_queue_is_away_the_files_are_made_in_process(
    assignment, teacher, client_of, monkeypatch, django_capture_on_commit_callbacks
):
    def away(*_, **__):
        raise OperationalError("nobody there")

    monkeypatch.setattr(print_order, "apply_async", away)
    with django_capture_on_commit_callbacks(execute=True):
        client_of(teacher).post(f"/results/{assignment.pk}/print/", EVERYTHING)
    assert PrintedFile.objects.count() == 6


def test_a_page_tells_how_far_the_work_is_and_makes_here_what_no_worker_took_up(assignment, teacher, client_of):
    choices = Choices(kinds=("booklet", "scheme"))
    at = timezone.now() - timedelta(minutes=1)
    order = order_print(question_set=assignment.question_set, assignment=assignment, choices=choices, by=teacher, at=at)
    client = client_of(teacher)
    page = client.get(f"/print/{order.pk}/").content.decode()
    assert "0 of 2 made." in page
    assert "every 1s" in page
    assert "Make the files now" in page
    client.post(f"/print/{order.pk}/")
    page = client.get(f"/print/{order.pk}/", headers={"HX-Request": "true"}).content.decode()
    assert "2 files." in page
    assert "every 1s" not in page
    assert "<html" not in page


def test_a_file_that_cannot_be_set_ends_the_order_and_says_so(assignment, teacher, client_of, monkeypatch):
    from assignments.paper.typesetting import TypesettingError

    def broken(*_, **__):
        raise TypesettingError("a fault")

    monkeypatch.setattr("assignments.paper.booklet.typeset", broken)
    order = order_print(
        question_set=assignment.question_set,
        assignment=None,
        choices=Choices(kinds=("booklet",)),
        by=teacher,
        at=timezone.now(),
    )
    make_files(order=order)
    order.refresh_from_db()
    assert order.failed
    assert "not all could be" in client_of(teacher).get(f"/print/{order.pk}/").content.decode()


def test_files_are_for_whoever_asked_alone(assignment, teacher, head, client_of):
    order = make_print(assignment.question_set, teacher)
    assert client_of(teacher).get(f"/print/{order.pk}/1/").status_code == 200
    assert client_of(head).get(f"/print/{order.pk}/1/").status_code == 404
    assert client_of(teacher).get(f"/print/{order.pk}/2/").status_code == 404


def test_files_are_forgotten_after_a_day(assignment, teacher):
    old = make_print(assignment.question_set, teacher, at=timezone.now() - KEPT - timedelta(minutes=1))
    new = make_print(assignment.question_set, teacher, at=timezone.now() - KEPT + timedelta(minutes=1))
    forget_prints()
    assert list(PrintOrder.objects.all()) == [new]
    assert not PrintedFile.objects.filter(order=old.pk).exists()
