"""Until feedback is due, nothing a pupil's browser receives tells the key.

Two kinds of test. Canaries: every word, number and drawing that would tell is looked for in every byte of a whole
sitting. Two worlds: the key is moved to another option, with all that follows from it, and the bytes must stay the
same; so even a leak that nobody thought of fails.
"""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Iterator
from random import Random
from time import perf_counter
from uuid import UUID

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from scipy.stats import mannwhitneyu

from assignments.models import Assignment, Feedback, Sitting
from assignments.services.assigning import Terms, assign_set
from assignments.services.sets import add_questions, make_set
from bank.models import Picture, Version
from bank.services.pictures import render_pictures
from bank.services.questions import save_question
from geometry.mistakes import Mistake
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.factories import enrol, make_pupil
from tests.small_school import SPECS, spec_of

pytestmark = pytest.mark.django_db
TAG, NOTE = "canary-tag", "canary-note"
# What differs between two askings of one page and tells nothing: tokens of the form, and the id of the next event.
FRESH = re.compile(rb'(csrfmiddlewaretoken" value="|X-CSRFToken": "|client_id" value=")[\w-]+')


@pytest.fixture
def assignment(school_class, teacher) -> Assignment:
    """Four real questions, drawn, shuffled for each pupil, open now; feedback after the close."""
    question_set = make_set(title="Thursday set", by=teacher)
    specs = [read_spec(spec_of(*parts)) for parts in SPECS[1:5]]
    questions = [
        save_question(
            school=teacher.school,
            author=teacher,
            spec=spec,
            option_set=make_options(spec, seed=10 + place),
            tags=[TAG],
            note=NOTE,
            state="ready",
        )
        for place, spec in enumerate(specs)
    ]
    for question in questions:
        render_pictures(version=question.current)
    add_questions(question_set=question_set, questions=questions)
    now = timezone.now()
    terms = Terms(
        opens_at=now - timezone.timedelta(hours=1),
        closes_at=now + timezone.timedelta(hours=1),
        allowance=1200,
        shuffle_questions=True,
        shuffle_options=True,
    )
    return assign_set(question_set=question_set, school_class=school_class, terms=terms, by=teacher)


@pytest.fixture
def client(client_of, pupil, assignment) -> Client:
    """The browser of a pupil who may take breaks, the sitting begun in it."""
    pupil.rest_breaks = True
    pupil.save()
    client = client_of(pupil)
    assert client.post(reverse("assignments:start", args=[assignment.pk])).status_code == 302
    return client


@pytest.fixture
def sitting(client) -> Sitting:
    return Sitting.objects.get()


def option_names(client: Client, sitting: Sitting, place: int) -> list[str]:
    page = client.get(reverse("assignments:sitting", args=[sitting.pk, place])).content.decode()
    return re.findall(r'name="option" value="([^"]+)"', page)


def send(client: Client, sitting: Sitting, place: int, option: str, number: int, kind: str = "choose") -> HttpResponse:
    """Choose an option as the page's script does; the answer is the server's JSON."""
    event = {
        "question": place,
        "kind": kind,
        "option": option,
        "client_id": str(UUID(int=number, version=4)),
        "epoch": sitting.epoch,
        "seq": number,
    }
    return client.post(reverse("assignments:answer", args=[sitting.pk]), event)


def whole_sitting(client: Client, sitting: Sitting) -> Iterator[HttpResponse]:
    """Everything that a browser can be given: each page, the part that a script fetches, the answers to choices."""
    yield client.get(reverse("assignments:my_sets"))
    yield client.get(reverse("assignments:start", args=[sitting.assignment_id]))
    yield client.get(reverse("assignments:example"))
    number = 0
    for place in range(1, len(sitting.paper) + 1):
        address = reverse("assignments:sitting", args=[sitting.pk, place])
        yield client.get(address)
        yield client.get(address, headers={"X-Part": "question"})
        for option in option_names(client, sitting, place):
            number += 1
            yield send(client, sitting, place, option, number)
            yield client.get(address)
        number += 1
        yield send(client, sitting, place, option_names(client, sitting, place)[number % 5], number, kind="strike")
        yield client.get(address)
        yield client.get(reverse("assignments:again", args=[sitting.pk, place]))
        yield client.get(reverse("assignments:review", args=[sitting.pk, place]))
    yield client.get(reverse("assignments:time_left", args=[sitting.pk]))
    yield from a_break(client, sitting)
    yield client.get(reverse("assignments:finish", args=[sitting.pk]))
    yield client.post(reverse("assignments:finish", args=[sitting.pk]))
    yield client.get(reverse("assignments:start", args=[sitting.assignment_id]))
    yield client.get(reverse("assignments:my_sets"))


def a_break(client: Client, sitting: Sitting) -> Iterator[HttpResponse]:
    """Stop the clock by the plain form of the page, ask for what is then hidden, and come back."""
    page = client.get(reverse("assignments:sitting", args=[sitting.pk, 1])).content.decode()
    fields = {name: re.search(rf'name="{name}" value="([^"]*)"', page)[1] for name in ("question", "epoch", "had")}
    fields |= {"client_id": str(UUID(int=10_000, version=4)), "then": "rest"}
    yield client.post(reverse("assignments:answer", args=[sitting.pk]), fields)
    yield client.get(reverse("assignments:sitting", args=[sitting.pk, 1]))
    yield client.get(reverse("assignments:start", args=[sitting.assignment_id]))
    yield client.get(reverse("assignments:time_left", args=[sitting.pk]))
    yield client.post(reverse("assignments:start", args=[sitting.assignment_id]))


def bytes_of(response: HttpResponse) -> bytes:
    """Status, headers, cookies, body: all that goes over the line."""
    lines = [f"{response.status_code}", *(f"{name}: {value}" for name, value in response.items())]
    return "\n".join(lines).encode() + response.cookies.output().encode() + response.content


def same_for_both(response: HttpResponse) -> bytes:
    """A response without what is new each time."""
    kept = [(name, value) for name, value in response.items() if name not in {"X-Request-Id", "Expires", "Date"}]
    body = re.sub(rb"(\d+) (minutes?|seconds?)( left)?|time-left=\"\d+\"|seconds_left\": \d+", b"", response.content)
    return repr((response.status_code, kept)).encode() + FRESH.sub(rb"\1", body)


def telling(version: Version) -> set[str]:
    """Words, numbers and drawings of a version that would tell its key or help to find it."""
    told = {TAG, NOTE, version.fingerprint, json.dumps(version.spec), version.question.note}
    told |= {json.dumps(part) for part in (*version.spec["folds"], *version.spec["punches"])}
    for option in version.options["options"]:
        for mistake in option["mistakes"]:
            known = Mistake.from_json(mistake)
            told |= {known.kind, known.says, mistake["says"]}
    steps = version.pictures.filter(kind=Picture.Kind.STEP).exclude(place=version.folds)
    told |= {picture.svg for picture in steps} | {picture.description for picture in steps}
    told |= set(version.pictures.values_list("name", flat=True))
    return told - {""}


def test_no_byte_of_a_sitting_holds_what_would_tell(client, sitting):
    versions = [asked.version for asked in sitting.assignment.questions.select_related("version__question")]
    canaries = {text.encode() for version in versions for text in telling(version)}
    assert len(canaries) > 60
    words = re.compile(rb"fingerprint|mistake|distractor|difficult|\bseed\b|\bspec\b|\bkey\b(?!=)|is_key|correct", re.I)
    for response in whole_sitting(client, sitting):
        sent = bytes_of(response)
        assert [text for text in canaries if text in sent] == []
        assert words.findall(re.sub(rb"<script[^>]*></script>|<link[^>]*>", b"", sent)) == []


def move_key(version: Version) -> None:
    """The other world: the right option and a wrong one change places, in all that is kept about them."""
    key = version.key
    other = min(set("ABCDE") - {key})
    options = {option["label"]: option for option in version.options["options"]}
    for field in ("mistakes", "first_wrong_fold"):
        options[key][field], options[other][field] = options[other][field], options[key][field]
    version.options["key"] = other
    version.level, version.fingerprint = 6 - version.level, "f" * 64
    version.difficulty["level"] = version.level
    version.save()
    version.question.tags.clear()
    steps = version.pictures.filter(kind=Picture.Kind.STEP)
    steps.update(svg="<svg/>", title="another unfolding", description="another unfolding")


def test_a_sitting_is_the_same_byte_for_byte_wherever_the_key_is(client, sitting, pupil, client_of):
    here = [same_for_both(response) for response in whole_sitting(client, sitting)]
    sitting.events.all().delete()
    sitting.time_changes.all().delete()
    Sitting.objects.update(finished_at=None, given=timezone.timedelta(0))
    for asked in sitting.assignment.questions.select_related("version__question"):
        move_key(asked.version)
    there = [same_for_both(response) for response in whole_sitting(client, sitting)]
    assert len(here) == len(there) > 40
    for one, other in zip(here, there, strict=True):
        assert one == other


def test_the_two_worlds_differ_where_they_may(client, sitting, client_of, teacher):
    """The test above can fail: the teacher's page of the same question tells the worlds apart."""
    version = sitting.assignment.questions.first().version
    page = reverse("bank:detail", args=[version.question_id])
    here = client_of(teacher).get(page).content
    move_key(version)
    assert client_of(teacher).get(page).content != here


def right_and_wrong(client: Client, sitting: Sitting) -> tuple[str, str]:
    """The names of the key and of another option of the first question."""
    version_of = dict(sitting.assignment.questions.values_list("pk", "version__options__key"))
    paper = sitting.paper[0]
    names = option_names(client, sitting, 1)
    right = names[paper["order"].index(version_of[paper["question"]])]
    return right, next(name for name in names if name != right)


def test_right_and_wrong_choices_are_answered_alike(client, sitting):
    right, wrong = right_and_wrong(client, sitting)
    answers = [send(client, sitting, 1, option, number) for number, option in enumerate((right, wrong), 1)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert len({len(answer.content) for answer in answers}) == 1
    assert len({len(gzip.compress(answer.content)) for answer in answers} | {0}) <= 3
    told = [answer.json() | {"client_id": "", "seconds_left": 0} for answer in answers]
    assert told[0] == told[1] == {"saved": True, "client_id": "", "late": False, "seconds_left": 0}
    headers = [{n: v for n, v in a.items() if n != "X-Request-Id"} for a in answers]
    assert headers[0] == headers[1]


def test_keeping_a_choice_reads_nothing_of_its_question(client, sitting):
    """What is never looked up takes no time that could tell: the same statements for both, none about a version."""
    said = []
    send(client, sitting, 1, "", 9, kind="flag")  # from then on the sitting is known
    for number, option in enumerate(right_and_wrong(client, sitting), 1):
        with CaptureQueriesContext(connection) as caught:
            send(client, sitting, 1, option, number)
        said.append([re.sub(r"'[^']*'|\d+", "?", query["sql"]) for query in caught.captured_queries])
    assert said[0] == said[1]
    assert [sql for sql in said[0] if "bank_" in sql] == []


TRIES = 300


def test_the_time_of_an_answer_does_not_tell_right_from_wrong(client, sitting):
    """Whoever ranks answers by time tells right from wrong no better than chance would once in a thousand times
    (Mann and Whitney's test; its U over all pairs is the area under the curve). By lot which comes first."""
    pair, lot, took = right_and_wrong(client, sitting), Random(8), ([], [])
    in_turn = [which for _ in range(TRIES) for which in lot.sample((0, 1), 2)]
    for number, which in enumerate(in_turn, 1):
        began = perf_counter()
        send(client, sitting, 1, pair[which], number)
        took[which].append(perf_counter() - began)
    found = mannwhitneyu(*took)
    area = found.statistic / TRIES**2
    assert found.pvalue > 0.001, f"the area under the curve is {area:.3f}"


def test_somebody_elses_sitting_is_as_no_such_sitting(client, sitting, assignment, school_class, client_of):
    """At every address of a sitting, byte for byte."""
    neighbour = make_pupil(school_class.school)
    enrol(neighbour, school_class)
    other = client_of(neighbour)
    pages = ("sitting", "again", "review", "time_left", "finish", "answer")
    for name in pages:
        found = []
        for pk in (sitting.pk, sitting.pk + 1000):
            address = reverse(f"assignments:{name}", args=[pk, 1] if name in pages[:3] else [pk])
            found.append([same_for_both(ask(address)) for ask in (other.get, other.post)])
        assert found[0] == found[1], name


def test_names_of_options_say_nothing_and_differ_for_each_sitting(client, sitting, assignment, school_class, client_of):
    mine = {name for place in range(1, 5) for name in option_names(client, sitting, place)}
    neighbour = make_pupil(assignment.school_class.school)
    enrol(neighbour, school_class)
    other = client_of(neighbour)
    other.post(reverse("assignments:start", args=[assignment.pk]))
    theirs_sitting = Sitting.objects.get(pupil=neighbour)
    theirs = {name for place in range(1, 5) for name in option_names(other, theirs_sitting, place)}
    assert len(mine) == len(theirs) == 20
    assert mine & theirs == set()
    assert all(re.fullmatch("[0-9a-f]{16}", name) for name in mine | theirs)


def test_pictures_of_options_hold_shapes_alone(client, sitting):
    """No id, class, title, comment, transform or gathered definitions: the drawing and nothing about it."""
    for place in range(1, 5):
        page = client.get(reverse("assignments:sitting", args=[sitting.pk, place])).content.decode()
        choices = page[page.index("<fieldset") : page.index("</fieldset>")]
        drawings = re.findall(r"<svg\b.*?</svg>", choices, re.S)
        pictures = [svg for svg in drawings if "viewBox" in svg and 'class="ring' not in svg]
        assert len(pictures) >= 5
        for svg in pictures:
            assert re.findall(r"\bid=|<title|<desc|<!--|<defs|<metadata|\bdata-|transform=", svg) == []


def test_pages_of_a_pupil_are_kept_nowhere(client, sitting):
    for response in whole_sitting(client, sitting):
        assert "no-store" in response.get("Cache-Control", ""), response
        assert not response.has_header("ETag")
        assert not response.has_header("Last-Modified")


def test_an_early_look_at_the_answer_is_as_no_such_page(client, sitting):
    early = client.get(reverse("assignments:review", args=[sitting.pk, 1]))
    none = client.get(reverse("assignments:review", args=[sitting.pk + 1000, 1]))
    assert (early.status_code, same_for_both(early)) == (404, same_for_both(none))


@pytest.mark.parametrize("name", ["bank:list", "assignments:sets", "assignments:results", "assignments:export_answers"])
def test_the_adults_pages_are_shut_to_pupils(client, sitting, name):
    assert client.get(reverse(name)).status_code == 403


def test_pictures_by_name_are_shut_to_pupils(client, sitting):
    name = Picture.objects.filter(kind=Picture.Kind.STEP).first().name
    assert client.get(reverse("bank:picture", args=[name, "svg"])).status_code == 403


def test_when_feedback_is_due_the_pupil_is_told(client, sitting, assignment):
    """The guard opens: the same page that was 404 then shows the mistakes."""
    client.post(reverse("assignments:finish", args=[sitting.pk]))
    Assignment.objects.update(feedback=Feedback.NOW)
    page = client.get(reverse("assignments:review", args=[sitting.pk, 1]))
    assert page.status_code == 200
    version = assignment.questions.get(pk=sitting.paper[0]["question"]).version
    says = [mistake["says"] for option in version.options["options"] for mistake in option["mistakes"]]
    assert any(sentence.split(".")[0][:20].encode() in page.content for sentence in says)
