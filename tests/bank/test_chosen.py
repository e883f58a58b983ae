"""Deeds done to many questions at once: all of them or none, from ticks alone or from all that a search found."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.utils import timezone

from accounts.models import School, User
from accounts.trail import Entry
from assignments.models import QuestionSet
from bank.models import Question, Tag
from bank.services import many
from tests.bank.factories import CROWDED, DIAGONAL, keep_drawings, make_question
from tests.bank.pages import parse, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def three(school: School, teacher: User) -> list[Question]:
    """1 ready, 2 a draft, 3 a draft that fails a check."""
    return [
        make_question(school, teacher, tags=["halves"], state="ready"),
        make_question(school, teacher, spec=DIAGONAL, tags=["halves", "drop"]),
        make_question(school, teacher, spec=CROWDED),
    ]


@pytest.fixture
def client(client_of, teacher: User):
    return client_of(teacher)


def ids(questions) -> list[int]:
    return [question.pk for question in questions]


def chosen(questions) -> str:
    return ",".join(map(str, ids(questions)))


def states() -> list[str]:
    return list(Question.objects.order_by("number").values_list("state", flat=True))


def tags_of(question: Question) -> list[str]:
    return list(question.tags.values_list("name", flat=True))


def said(client, *args, **kwargs) -> str:
    """What the page says after a deed, having gone back to the list."""
    answer = client.post(*args, follow=True, **kwargs)
    return " ".join(words(parse(answer), "//ul[@class='messages']/li"))


def test_the_list_has_a_tick_for_each_row_and_deeds_without_script(client, three):
    page = parse(client.get("/bank/?q=halves"))
    assert page.xpath("//form[@method='post']//input[@name='question']/@value") == [str(three[1].pk), str(three[0].pk)]
    assert set(page.xpath("//input[@name='query']/@value")) == {"q=halves"}
    assert page.xpath("//div[@class='tray']//button/@formaction") == ["/sets/put/", "/sets/put/"]


def test_what_was_chosen_stands_on_the_page_of_deeds(client, three):
    page = parse(client.post("/bank/chosen/", {"question": ids(three), "query": "q=halves&page=2"}))
    assert words(page, "//h1") == ["3 questions chosen"]
    assert set(page.xpath("//input[@name='chosen']/@value")) == {chosen(three)}
    assert page.xpath("//p[@class='back']/a/@href") == ["/bank/?q=halves&page=2"]
    assert [text.split()[-2:] for text in words(page, "//div[@class='long-choice']//label")] == [
        ["drop", "(1)"],
        ["halves", "(2)"],
    ]


def test_one_question_is_one_in_the_title_too(client, three):
    page = parse(client.post("/bank/chosen/", {"question": ids(three)[:1]}))
    assert words(page, "//title")[0].startswith("1 question chosen")


def test_tags_are_given_and_taken_off(client, three, school: School):
    halves = Tag.objects.get(name="halves")
    sent = {"chosen": chosen(three[:2]), "add": "New One, drop", "remove": halves.pk, "query": "sort=oldest"}
    answer = client.post("/bank/chosen/tags/", sent)
    assert answer["Location"] == "/bank/?sort=oldest"
    assert [tags_of(question) for question in three] == [["drop", "new one"], ["drop", "new one"], []]


def test_too_many_tags_on_one_changes_none(three, school: School):
    full = [f"tag {n}" for n in range(12)]
    many.change_tags(school=school, ids=[three[2].pk], add=full, remove=[], at=timezone.now())
    with pytest.raises(many.TagError, match=r"Too many would be on question 3\. Nothing was changed\."):
        many.change_tags(school=school, ids=ids(three), add=["one more"], remove=[], at=timezone.now())
    assert [tags_of(question) for question in three] == [["halves"], ["drop", "halves"], sorted(full)]


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"add": "x" * 41}, "40 characters at most"),
        ({"add": " , "}, "Type a tag to give, or tick one to take off."),
        ({"remove": "999999"}, "One of those ticked at “Take off them” is not offered."),
    ],
)
def test_tags_that_cannot_be_stay_in_the_field_with_what_is_wrong(client, three, sent, says):
    answer = client.post("/bank/chosen/tags/", {"chosen": chosen(three)} | sent)
    assert answer.status_code == 400
    assert says in answer.content.decode()
    assert not sent.get("add") or parse(answer).get_element_by_id("id_add").value == sent["add"]


def test_states_change_for_all_and_what_fails_a_check_is_named(client, three):
    body = {"chosen": chosen(three)}
    assert said(client, "/bank/chosen/state/", body | {"do": "ready"}) == (
        "1 question made ready. Still drafts, since a check fails: 3."
    )
    assert states() == ["ready", "ready", "draft"]
    assert said(client, "/bank/chosen/state/", body | {"do": "retire"}) == "3 questions retired."
    assert said(client, "/bank/chosen/state/", body | {"do": "retire"}) == "0 questions retired."
    assert said(client, "/bank/chosen/state/", body | {"do": "restore"}) == "3 questions brought back."
    assert states() == ["ready", "ready", "draft"]
    assert client.post("/bank/chosen/state/", body | {"do": "delete"}).status_code == 400


def test_as_many_queries_for_thirty_as_for_three(client, three, school, django_assert_max_num_queries):
    for _ in range(27):
        make_question(school)
    with django_assert_max_num_queries(20):
        client.post("/bank/chosen/state/", {"all": "1", "query": "", "do": "ready"})


def unzipped(answer) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(answer.getvalue())) as file:
        assert file.testzip() is None
        return {name: file.read(name) for name in file.namelist()}


def test_pictures_come_as_a_zip_named_by_number_and_letter(client, three):
    keep_drawings(three[0])
    sent = {"chosen": str(three[0].pk), "parts": ["stem", "options", "key"], "forms_": ["svg", "2x"]}
    answer = client.post("/bank/chosen/pictures/", sent)
    assert answer.streaming
    files = unzipped(answer)
    key = three[0].current.key
    names = [f"stem-{n}" for n in (1, 2, 3)] + [f"option-{letter}" for letter in "ABCDE"] + [f"key-{key}"]
    assert list(files) == [f"question-001/{name}{ending}" for name in names for ending in (".svg", "@2x.png")]
    assert files[f"question-001/key-{key}.svg"] == files[f"question-001/option-{key}.svg"]
    # A PNG begins with its signature, then IHDR with the width (ISO/IEC 15948, 5.2 and 11.2.2).
    png = files["question-001/stem-1@2x.png"]
    assert (png[:8], int.from_bytes(png[16:20], "big")) == (b"\x89PNG\r\n\x1a\n", 800)
    assert Entry.objects.get(deed="questions_exported").about == {"questions": 1}


def test_a_zip_of_nothing_or_of_too_much_is_refused_on_the_page(client, three, monkeypatch):
    answer = client.post("/bank/chosen/pictures/", {"chosen": chosen(three)})
    assert (answer.status_code, answer.content.decode().count("Tick")) == (400, 2)
    monkeypatch.setattr("bank.slides.MOST", 2)
    sent = {"chosen": chosen(three), "parts": "stem", "forms_": "svg"}
    assert "Pictures of 2 questions at most" in client.post("/bank/chosen/pictures/", sent).content.decode()


DEEDS = ("/bank/chosen/", "/bank/chosen/tags/", "/bank/chosen/state/", "/bank/chosen/pictures/", "/sets/put/")


@pytest.mark.parametrize("address", DEEDS)
def test_no_deed_touches_a_question_of_another_school(client_of, three, stranger: User, address):
    sent = {"question": ids(three), "do": "retire", "add": "x", "into": "new", "title": "Stolen"}
    said_to_stranger = said(client_of(stranger), address, sent)
    assert "is not in your school’s bank any more. Nothing was done." in said_to_stranger
    assert states() == ["ready", "draft", "draft"]
    assert not QuestionSet.objects.exists()


def test_nothing_chosen_is_said_in_the_list_as_it_was_searched(client, three):
    answer = client.post("/bank/chosen/", {"query": "q=halves&next=//elsewhere.example"})
    assert answer["Location"] == "/bank/?q=halves&next=%2F%2Felsewhere.example"
    assert "No question is chosen." in said(client, "/bank/chosen/", {})


# --- into a set -------------------------------------------------------------------------------------------------
def test_chosen_questions_go_into_a_new_set_in_their_order(client, school: School, teacher: User):
    made = [make_question(school, teacher, state="ready") for _ in range(3)]
    order = [made[2], made[0]]
    assert client.post("/sets/put/", {"chosen": chosen(order)}).status_code == 200
    assert not QuestionSet.objects.exists(), "asking changes nothing"
    answer = client.post("/sets/put/", {"chosen": chosen(order), "do": "put", "into": "new", "title": " Warm  up "})
    made_set = QuestionSet.objects.get()
    assert answer["Location"] == f"/sets/{made_set.pk}/"
    assert (made_set.title, [entry.question for entry in made_set.entries.all()]) == ("Warm up", order)


def test_into_a_set_that_is_there_and_on_to_its_booklet(client, school: School, teacher: User):
    made = [make_question(school, teacher, state="ready") for _ in range(2)]
    there = QuestionSet.objects.create(school=school, title="There", author=teacher)
    sent = {"chosen": chosen(made), "do": "put", "into": there.pk, "then": "print"}
    for _ in range(2):
        assert client.post("/sets/put/", sent)["Location"] == f"/sets/{there.pk}/print/"
    assert there.entries.count() == 2, "sent twice is once"


def test_what_is_not_ready_is_said_and_left_out_only_if_asked(client, three):
    sent = {"chosen": chosen(three), "do": "put", "into": "new", "title": "Mixed"}
    answer = client.post("/sets/put/", sent)
    assert answer.status_code == 400
    assert "it is still a draft" in answer.content.decode()
    assert not QuestionSet.objects.exists(), "all or nothing: not even an empty set"
    client.post("/sets/put/", sent | {"leave_out": "on"})
    assert [entry.question.number for entry in QuestionSet.objects.get().entries.all()] == [1]


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"into": "new"}, "Give the new set a title."),
        ({"into": "999"}, "This set is not there any more."),
        ({"into": "new", "title": "x" * 81}, "at most 80 characters"),
    ],
)
def test_a_set_that_cannot_be_is_said_beside_its_field(client, school, teacher, sent, says):
    question = make_question(school, teacher, state="ready")
    answer = client.post("/sets/put/", {"chosen": question.pk, "do": "put"} | sent)
    assert answer.status_code == 400
    assert says in answer.content.decode()


def test_an_administrator_is_not_offered_sets(client_of, administrator: User, three):
    page = parse(client_of(administrator).get("/bank/"))
    assert page.xpath("//div[@class='tray']//button/@formaction") == []
