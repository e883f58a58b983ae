"""Tags of a school renamed, merged and deleted: looked at first, all or nothing, on the record."""

from __future__ import annotations

import pytest
from django.db import DatabaseError
from django.utils import timezone

from accounts.models import School, User
from accounts.trail import Entry
from bank.errors import TagError
from bank.models import Question, Tag
from bank.services import tag_names
from tests.bank.factories import make_question
from tests.bank.pages import parse, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def tagged(school: School, teacher: User) -> None:
    for tags in (["third"], ["thirds"], ["third", "thirds"], ["halves"], []):
        make_question(school, teacher, tags=tags)


@pytest.fixture
def client(client_of, teacher: User):
    return client_of(teacher)


def pk(*names: str) -> list[int]:
    return [Tag.objects.get(name=name).pk for name in names]


def carried() -> list[list[str]]:
    return [[tag.name for tag in question.tags.all()] for question in Question.objects.order_by("number")]


def do(by: User, ids: list[int], name: str) -> tag_names.Plan:
    return tag_names.carry_out(school=by.school, ids=ids, name=name, by=by, at=timezone.now())


def test_renamed_for_every_question(teacher: User, tagged):
    done = do(teacher, pk("thirds"), " In  THIRDS ")
    assert (done.name, done.together, done.is_merge) == ("in thirds", 2, False)
    assert carried() == [["third"], ["in thirds"], ["in thirds", "third"], ["halves"], []]
    entry = Entry.objects.get(deed="tags_changed")
    assert (entry.by, entry.about) == (teacher, {"tags": 1, "questions": 2})


@pytest.mark.parametrize(
    ("old", "name"),
    [
        (("third",), "thirds"),
        (("third", "thirds"), "thirds"),
        (("third", "thirds"), "third"),
        (("third", "thirds"), "new"),
    ],
)
def test_merged_into_one_that_stands_once_on_each(teacher: User, tagged, old, name):
    done = do(teacher, pk(*old), name)
    assert (done.is_merge, done.together) == (True, 3)
    assert carried() == [[name], [name], [name], ["halves"], []]
    assert Tag.objects.count() == 2


def test_deleted_from_its_questions_which_stay(teacher: User, tagged):
    assert do(teacher, pk("halves", "third"), "").together == 3
    assert carried() == [[], ["thirds"], ["thirds"], [], []]


def test_its_own_name_changes_nothing_and_is_not_on_the_record(teacher: User, tagged):
    assert do(teacher, pk("third"), "Third").changes_nothing
    assert not Entry.objects.exists()


def test_all_or_nothing(teacher: User, tagged, monkeypatch):
    before = carried()

    def fail(*_, **__):
        raise DatabaseError("gone")

    monkeypatch.setattr(tag_names, "record", fail)
    with pytest.raises(DatabaseError):
        do(teacher, pk("third"), "thirds")
    assert carried() == before


def test_another_schools_tags_are_not_there(stranger: User, tagged):
    with pytest.raises(TagError, match="Choose a tag first"):
        do(stranger, pk("third"), "stolen")
    Tag.objects.create(school=stranger.school, name="thirds")
    assert Tag.objects.filter(name="thirds").count() == 2


def test_the_page_counts_and_shows_what_will_change_before_it_does(client, tagged):
    page = parse(client.get("/bank/tags/"))
    assert [text.split()[0] for text in words(page, "//ul[@class='tag-columns']//a")] == ["1", "2", "2"]
    sent = {"tag": pk("third"), "name": "Thirds", "deed": "name"}
    before = carried()
    preview = parse(client.post("/bank/tags/change/", sent))
    assert carried() == before
    assert words(preview, "//ul[@class='becomes']/li") == [
        "third on 2 questions",
        "thirds there already, on 2 questions",
    ]
    assert "thirds on 3 questions" in words(preview, "//section/p")[0]
    assert client.post("/bank/tags/change/", sent | {"do": "yes"})["Location"] == "/bank/tags/"
    assert carried() == [["thirds"], ["thirds"], ["thirds"], ["halves"], []]
    again = client.post("/bank/tags/change/", sent | {"do": "yes"} | {"tag": "999999"})
    assert again.status_code == 400, "sent twice it finds nothing to do, and says so"


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "Type the new name."),
        ("x" * 41, "40 characters at most"),
        ("a, b", "has no comma"),
        ("\u202ea", "cannot be seen"),
    ],
)
def test_a_name_that_cannot_be_is_said_and_kept_in_its_field(client, tagged, name, says):
    answer = client.post("/bank/tags/change/", {"tag": pk("third"), "name": name, "deed": "name"})
    page = parse(answer)
    assert answer.status_code == 400
    assert says in page.get_element_by_id("says").text_content()
    assert page.get_element_by_id("name").value == name
    assert page.xpath("//input[@name='tag'][@checked]/@value") == [str(pk("third")[0])]
