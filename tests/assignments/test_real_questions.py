"""A sitting of a question as the bank really makes it: folded, punched and drawn by ``geometry``."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.models import Assignment, Sitting
from assignments.papers import places
from assignments.services.assigning import Terms, assign_set
from assignments.services.sets import add_questions, make_set
from bank.services.questions import save_question
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.assignments.factories import NOON, choose

pytestmark = pytest.mark.django_db
# Our own question: the left half over the right, the top over the bottom, one triangle punched.
SPEC = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"bring": ["0", "0"], "to": ["1", "0"]}, {"bring": ["1", "1"], "to": ["1", "0"]}],
    "punches": [{"shape": "triangle", "at": ["4/5", "1/4"], "size": "1/6", "turn": 20}],
}


@pytest.fixture
def assignment(school_class: SchoolClass, teacher: User) -> Assignment:
    spec = read_spec(SPEC)
    options = make_options(spec, seed=5)
    question = save_question(
        school=teacher.school, author=teacher, spec=spec, option_set=options, state="ready", tags=["quarters"]
    )
    question_set = make_set(title="Quarters", by=teacher)
    add_questions(question_set=question_set, questions=[question])
    terms = Terms(NOON, NOON + timedelta(hours=1), 60, shuffle_options=True)
    return assign_set(question_set=question_set, school_class=school_class, terms=terms, by=teacher)


@pytest.fixture
def sitting(client_of, assignment: Assignment, pupil: User, set_clock) -> Sitting:
    set_clock(NOON)
    client_of(pupil).post(reverse("assignments:start", args=[assignment.pk]))
    return Sitting.objects.get()


def pictures(page: html.HtmlElement, where: str) -> list[str]:
    return [re.sub(r"\s+", " ", html.tostring(svg, encoding="unicode")) for svg in page.xpath(f"{where}//svg")]


def test_the_page_shows_the_stem_in_words_and_the_options_without(
    client_of, sitting: Sitting, pupil: User, set_clock
) -> None:
    client = client_of(pupil)
    client.post(reverse("assignments:start", args=[sitting.assignment_id]))
    text = client.get(reverse("assignments:sitting", args=[sitting.pk, 1])).content.decode()
    page = html.fromstring(text)
    stem = page.xpath("//figure/span/@aria-label")
    assert len(stem) == 3
    assert "folded" in stem[0]
    drawn = pictures(page, "//label//span[@class='drawing']")
    assert len(set(drawn)) == 5
    assert not any("<title" in svg or "<desc" in svg for svg in drawn)
    version = sitting.assignment.questions.get().version
    told = [mistake["says"] for option in version.options["options"] for mistake in option["mistakes"]]
    assert len(told) >= 4
    assert not any(says in text for says in told)
    assert "quarters" not in text  # the tag; the title is the teacher's own


def test_the_bytes_of_a_picture_do_not_depend_on_where_it_stands(sitting: Sitting, client_of, pupil: User) -> None:
    client = client_of(pupil)
    seen = []
    for order in ("ABCDE", "EDCBA"):
        sitting.paper[0]["order"] = order
        sitting.save()
        client.post(reverse("assignments:start", args=[sitting.assignment_id]))
        page = html.fromstring(client.get(reverse("assignments:sitting", args=[sitting.pk, 1])).content.decode())
        seen.append(pictures(page, "//label//span[@class='drawing']"))
    assert seen[0] == seen[1][::-1]


def test_the_review_marks_each_wrong_option_where_it_errs(sitting: Sitting, client_of, pupil: User, set_clock) -> None:
    version = sitting.assignment.questions.get().version
    wrong = next(letter for letter in "ABCDE" if letter != version.key)
    choose(sitting, 1, wrong, seq=1, at=NOON + timedelta(seconds=9))
    set_clock(NOON + timedelta(hours=2))
    page = html.fromstring(client_of(pupil).get(reverse("assignments:review", args=[sitting.pk, 1])).content.decode())
    place = places(sitting.paper)[0]
    said = [" ".join(item.text_content().split()) for item in page.xpath("//ol[@class='reviewed']/li")]
    for letter, words in zip(place.order, said, strict=True):
        for mistake in version.options["options"]["ABCDE".index(letter)]["mistakes"]:
            assert mistake["says"] in words
    marked = page.xpath("//ol[@class='reviewed']/li[contains(@class, 'is-choice')]//*[local-name()='title']/text()")
    assert marked == [f"Option {place.shown(wrong)}, marked"]
    assert len(page.xpath("//ol[@class='steps']/li")) == 3
