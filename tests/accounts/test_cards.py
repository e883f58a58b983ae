"""Cards: a new PIN is drawn, kept as a hash, and shown this once."""

from __future__ import annotations

import re

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse

from accounts.errors import NotAllowedError, StaleCardsError
from accounts.models import User
from accounts.services import cards
from tests.accounts.conftest import give_pin, text_of
from tests.factories import enrol, make_pupil


@pytest.fixture
def browser(client_of, teacher):
    return client_of(teacher)


@pytest.fixture
def page(school_class):
    return reverse("accounts:cards", args=[school_class.pk])


@pytest.fixture
def friend(school, school_class):
    friend = make_pupil(school, "Ilko")
    enrol(friend, school_class)
    give_pin(friend, "111111")
    return friend


def seen_on(answer):
    return re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]


def make(browser, page, *pupils):
    seen = seen_on(browser.get(page))
    return browser.post(page, {"seen": seen, "pupil": [pupil.pk for pupil in pupils]})


def pin_of(answer, name):
    return re.search(rf"{name} PIN (\d{{3}} \d{{3}})", text_of(answer))[1]


def test_the_page_says_what_a_new_pin_does(browser, page, card):
    words = text_of(browser.get(page))
    assert "A PIN is shown once" in words
    assert "So a card cannot be printed twice: a new card has a new PIN." in words
    assert "Answers given so far stay, and so does the time left." in words


def test_a_card_is_made_for_whoever_is_chosen(browser, page, card, friend, client):
    answer = make(browser, page, card.pupil)
    assert "1 card to print" in text_of(answer)
    assert "Ilko" not in text_of(answer)
    new = card.fields(pin=pin_of(answer, "Fenna"))
    assert client.post("/pupil/", new).status_code == 302
    assert client.post("/pupil/", card.fields()).status_code == 400
    assert client.post("/pupil/", card.fields(name="Ilko", pin="111111")).status_code == 302


def test_a_card_holds_code_name_pin_and_address(browser, page, card):
    words = text_of(make(browser, page, card.pupil))
    assert f"Class code {card.school_class.code} Your name Fenna PIN" in words
    assert "testserver Keep your PIN to yourself." in words


def test_the_page_of_cards_warns(browser, page, card):
    words = text_of(make(browser, page, card.pupil))
    assert "These PINs are shown this once." in words
    assert "hand each to its owner, keep spare ones locked away, and shred old ones." in words


def test_the_pin_is_in_no_cache_no_table_and_no_session(browser, page, card):
    answer = make(browser, page, card.pupil)
    pin = pin_of(answer, "Fenna").replace(" ", "")
    assert answer["Cache-Control"] == "private, no-store"
    kept = User.objects.get(pk=card.pupil.pk).password
    assert kept.startswith("argon2$argon2id$")
    assert pin not in kept
    assert all(pin not in str(session.get_decoded()) for session in Session.objects.all())


def test_it_is_shown_once(browser, page, card):
    pin = pin_of(make(browser, page, card.pupil), "Fenna")
    for path in (page, reverse("accounts:class_detail", args=[card.school_class.pk])):
        assert pin not in text_of(browser.get(path))


def test_sent_twice_the_printed_cards_stay_good(browser, page, card, client):
    """As when the page of cards is reloaded."""
    fields = {"seen": seen_on(browser.get(page)), "pupil": [card.pupil.pk]}
    pin = pin_of(browser.post(page, fields), "Fenna")
    again = browser.post(page, fields)
    assert again.status_code == 409
    assert "These PINs have been made anew since the page was opened." in text_of(again)
    assert client.post("/pupil/", card.fields(pin=pin)).status_code == 302


def test_after_that_it_can_be_meant(browser, page, card):
    make(browser, page, card.pupil)
    assert make(browser, page, card.pupil).status_code == 200


@pytest.mark.parametrize("seen", ["", "x", "\x00"])
def test_a_form_that_was_not_ours_makes_nothing(browser, page, card, seen, client):
    assert browser.post(page, {"seen": seen, "pupil": [card.pupil.pk]}).status_code == 409
    assert client.post("/pupil/", card.fields()).status_code == 302


@pytest.mark.parametrize("chosen", [[], [""], ["x"], ["0"], ["999999999999999999999"], ["٢"]])
def test_nobody_chosen_is_said(browser, page, card, chosen):
    answer = browser.post(page, {"seen": seen_on(browser.get(page)), "pupil": chosen})
    assert answer.status_code == 400
    assert "Choose at least one pupil." in text_of(answer)


def test_whoever_has_no_pin_is_ticked_already(browser, page, card, school, school_class):
    newcomer = make_pupil(school, "Wim")
    enrol(newcomer, school_class)
    body = browser.get(page).content.decode()
    assert re.findall(r'name="pupil" value="(\d+)" checked', body) == [str(newcomer.pk)]
    assert "Wim no PIN yet" in text_of(browser.get(page))


def test_the_link_on_a_pupils_page_ticks_that_pupil(browser, page, card, friend):
    body = browser.get(f"{page}?pupil={friend.pk}").content.decode()
    assert re.findall(r'name="pupil" value="(\d+)" checked', body) == [str(friend.pk)]


def test_a_choice_stays_when_it_is_refused(browser, page, card, friend):
    body = browser.post(page, {"seen": "old", "pupil": [friend.pk]}).content.decode()
    assert re.findall(r'name="pupil" value="(\d+)" checked', body) == [str(friend.pk)]


def test_pupils_of_other_classes_are_left_alone(browser, page, card, other_pupil):
    give_pin(other_pupil)
    before = User.objects.get(pk=other_pupil.pk).password
    seen = seen_on(browser.get(page))
    browser.post(page, {"seen": seen, "pupil": [card.pupil.pk, other_pupil.pk]})
    assert User.objects.get(pk=other_pupil.pk).password == before


@pytest.mark.parametrize(
    ("who", "status"),
    [("administrator", 200), ("other_teacher", 404), ("head", 404), ("stranger", 404), ("pupil", 403)],
)
def test_who_may_make_cards(request, client_of, page, card, who, status):
    browser = client_of(request.getfixturevalue(who))
    assert browser.get(page).status_code == status
    assert browser.post(page, {"seen": "", "pupil": [card.pupil.pk]}).status_code == (status if status > 200 else 409)


def test_an_archived_class_gets_no_cards(browser, page, card, clock):
    card.school_class.archived_at = clock()
    card.school_class.save()
    assert browser.get(page).status_code == 404


def test_cards_come_in_the_order_of_names_and_differ(school_class, teacher, school):
    pupils = [make_pupil(school, name) for name in ("Wim", "Aldin", "Fenna")]
    for pupil in pupils:
        enrol(pupil, school_class)
    made = cards.issue_pins(school_class=school_class, pupils=pupils, seen=None, by=teacher)
    assert [card.pupil.name for card in made] == ["Aldin", "Fenna", "Wim"]
    assert len({card.pin for card in made}) == 3
    assert len({User.objects.get(pk=pupil.pk).password for pupil in pupils}) == 3


def test_a_pin_is_written_in_two_groups(card):
    assert cards.Card(card.pupil, card.school_class, "004200").spaced_pin == "004 200"


def test_the_service_refuses_strangers_and_stale_requests(card, stranger, teacher):
    with pytest.raises(NotAllowedError):
        cards.issue_pins(school_class=card.school_class, pupils=[card.pupil], seen=None, by=stranger)
    state = cards.state_of_pins(card.school_class)
    cards.issue_pins(school_class=card.school_class, pupils=[card.pupil], seen=state, by=teacher)
    with pytest.raises(StaleCardsError):
        cards.issue_pins(school_class=card.school_class, pupils=[card.pupil], seen=state, by=teacher)


def test_a_class_of_thirty_takes_a_handful_of_queries(
    browser, page, school, school_class, django_assert_max_num_queries
):
    pupils = [make_pupil(school) for _ in range(30)]
    for pupil in pupils:
        enrol(pupil, school_class)
    seen = seen_on(browser.get(page))
    with django_assert_max_num_queries(14):
        browser.post(page, {"seen": seen, "pupil": [pupil.pk for pupil in pupils]})
