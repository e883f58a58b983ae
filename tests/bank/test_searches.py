"""Saved searches: a name for what the filters show, each person's own."""

from __future__ import annotations

import pytest

from accounts.models import User
from bank.errors import SearchError
from bank.models import SavedSearch
from bank.services import searches
from tests.bank.pages import parse, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(client_of, teacher: User):
    return client_of(teacher)


def kept(user: User) -> dict[str, str]:
    return dict(SavedSearch.objects.visible_to(user).values_list("name", "query"))


def test_a_search_is_kept_without_its_page_and_shown_beside_the_filters(client, teacher: User):
    answer = client.post("/bank/searches/", {"name": " Hard  ones ", "query": "level=4&level=5&page=3&q=&sort=newest"})
    assert answer["Location"] == "/bank/?level=4&level=5&sort=newest"
    assert kept(teacher) == {"Hard ones": "level=4&level=5&sort=newest"}
    page = parse(client.get("/bank/?level=4&level=5&sort=newest&page=2"))
    (link,) = page.xpath("//div[@class='saved-searches']//li/a")
    assert (link.text, link.get("href"), link.get("aria-current")) == (
        "Hard ones",
        "/bank/?level=4&level=5&sort=newest",
        "true",
    )


def test_a_name_that_is_there_takes_the_new_search(teacher: User):
    for query in ("q=a", "q=b"):
        searches.save_search(name="Mine", query=query, by=teacher)
    assert kept(teacher) == {"Mine": "q=b"}


def test_searches_are_ones_own(client_of, teacher: User, other_teacher: User):
    search = searches.save_search(name="Mine", query="q=a", by=teacher)
    theirs = client_of(other_teacher)
    assert "Mine" not in theirs.get("/bank/").content.decode()
    assert theirs.post(f"/bank/searches/{search.pk}/", {"do": "delete"}).status_code == 404
    searches.save_search(name="Mine", query="q=other", by=other_teacher)
    assert kept(teacher) == {"Mine": "q=a"}


def test_renamed_and_deleted(client, teacher: User):
    search = searches.save_search(name="Old", query="q=a", by=teacher)
    client.post(f"/bank/searches/{search.pk}/", {"name": "New"})
    assert kept(teacher) == {"New": "q=a"}
    client.post(f"/bank/searches/{search.pk}/", {"do": "delete"})
    assert kept(teacher) == {}


def test_a_name_taken_is_said_beside_it_with_what_was_typed(client, teacher: User):
    one, _ = (searches.save_search(name=name, query="q=a", by=teacher) for name in ("One", "Two"))
    answer = client.post(f"/bank/searches/{one.pk}/", {"name": "Two"})
    page = parse(answer)
    assert answer.status_code == 400
    assert words(page, "//p[@class='error']") == ["You have a search called “Two” already."]
    assert page.get_element_by_id(f"name-{one.pk}").value == "Two"
    assert set(kept(teacher)) == {"One", "Two"}


@pytest.mark.parametrize(
    ("name", "query", "says"),
    [
        ("", "q=a", "Give the search a name"),
        ("\u202e \u0000", "q=a", "Give the search a name"),
        ("x" * 61, "q=a", "60 characters at most"),
        ("All", "", "finds the whole bank"),
        ("All", "page=4&q=", "finds the whole bank"),
        ("Long", "&".join(f"tag={n}" for n in range(400)), "too many filters"),
    ],
)
def test_what_cannot_be_kept_is_said(teacher: User, name, query, says):
    with pytest.raises(SearchError, match=says):
        searches.save_search(name=name, query=query, by=teacher)
    assert kept(teacher) == {}


def test_there_is_an_end_to_them(teacher: User):
    for number in range(searches.MOST):
        searches.save_search(name=str(number), query="q=a", by=teacher)
    searches.save_search(name="0", query="q=b", by=teacher)
    with pytest.raises(SearchError, match="which is all that are kept"):
        searches.save_search(name="one more", query="q=a", by=teacher)


def test_a_hostile_query_goes_nowhere_but_to_the_bank(client):
    answer = client.post("/bank/searches/", {"name": "x", "query": "q=a\r\nSet-Cookie: x=1&next=//elsewhere.example"})
    assert answer["Location"].startswith("/bank/?q=a%0D%0ASet-Cookie")
