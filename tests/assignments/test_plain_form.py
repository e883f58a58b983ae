"""The question page without script: every button is a plain form that keeps the choice first."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.models import Event, Feedback, Sitting
from tests.assignments.factories import NOON, make_assignment

pytestmark = pytest.mark.django_db


class Browser:
    """A browser that only follows links and sends forms."""

    def __init__(self, client: Client) -> None:
        self.client = client

    def open(self, address: str) -> None:
        response = self.client.get(address, follow=True)
        self.address = response.redirect_chain[-1][0] if response.redirect_chain else address
        self.page = html.fromstring(response.content.decode())

    def press(self, then: str, choose: str = "") -> None:
        """Choose the option under this letter, if any, and press the button that says so."""
        (form,) = self.page.xpath("//form[@data-question]")
        assert form.xpath(f".//button[@name='then' and @value='{then}']"), f"no button {then}"
        fields = dict(form.form_values()) | {"then": then}
        if choose:
            (radio,) = form.xpath(f".//input[@aria-label='Option {choose}']")
            fields["option"] = radio.get("value")
        response = self.client.post(form.get("action"), fields)
        assert response.status_code == 302
        self.open(response["Location"])

    @property
    def text(self) -> str:
        return " ".join(self.page.text_content().split())


@pytest.fixture
def browser(client_of, pupil: User, school_class: SchoolClass, set_clock) -> Browser:
    return begin(client_of, pupil, school_class, set_clock)


def begin(client_of, pupil: User, school_class: SchoolClass, set_clock, **terms: str) -> Browser:
    assignment = make_assignment(school_class, **terms)
    set_clock(NOON)
    browser = Browser(client_of(pupil))
    browser.open(browser.client.post(reverse("assignments:start", args=[assignment.pk]))["Location"])
    set_clock(NOON + timedelta(seconds=10))
    return browser


def kept() -> list[tuple[str, str]]:
    return list(Event.objects.order_by("epoch", "seq").values_list("kind", "option"))


def test_next_keeps_the_choice_and_goes_on(browser: Browser) -> None:
    browser.press("next", choose="B")
    assert kept() == [("choose", "B")]
    assert browser.address.endswith("/2/")


def test_next_without_a_choice_only_goes_on(browser: Browser) -> None:
    browser.press("next")
    assert kept() == []
    assert browser.address.endswith("/2/")


def test_back_shows_the_choice_again_and_adds_nothing(browser: Browser) -> None:
    browser.press("next", choose="B")
    browser.press("back")
    assert browser.page.xpath("string(//input[@checked]/@aria-label)") == "Option B"
    browser.press("next")
    assert kept() == [("choose", "B")]


def test_a_changed_mind_is_a_second_event(browser: Browser) -> None:
    browser.press("next", choose="B")
    browser.press("back")
    browser.press("next", choose="C")
    assert kept() == [("choose", "B"), ("choose", "C")]


def test_any_question_can_be_reached_and_the_choice_comes_along(browser: Browser) -> None:
    browser.press("3", choose="A")
    assert browser.address.endswith("/3/")
    assert kept() == [("choose", "A")]


def test_a_flag_goes_up_and_down_on_the_same_page(browser: Browser) -> None:
    browser.press("flag", choose="D")
    assert browser.address.endswith("/1/")
    assert browser.page.xpath("//button[@data-spot='1' and @data-flagged]")
    browser.press("unflag")
    assert kept() == [("choose", "D"), ("flag", ""), ("unflag", "")]


def test_after_the_last_question_comes_the_look_over_all(browser: Browser) -> None:
    browser.press("3", choose="A")
    browser.press("next", choose="E")
    assert browser.address.endswith("/finish/")
    assert "1 of 3 questions has no answer yet." in browser.text


def test_the_whole_set_can_be_sat_and_handed_in(browser: Browser) -> None:
    for letter in "CAE":
        browser.press("next", choose=letter)
    assert "Every question has an answer." in browser.text
    browser.open(browser.client.post(browser.address)["Location"])
    assert "You have finished." in browser.text
    assert Sitting.objects.get().finished_at == NOON + timedelta(seconds=10)


def test_checking_shows_how_it_opens_and_fixes_the_choice(
    client_of, pupil: User, school_class: SchoolClass, set_clock
) -> None:
    browser = begin(client_of, pupil, school_class, set_clock, feedback=Feedback.NOW)
    browser.press("lock", choose="C")
    assert browser.address.endswith("/review/1/")
    assert "C is right." in browser.text
    browser.open(browser.address.replace("review/1", "1"))
    assert browser.page.xpath("//fieldset[@data-choices and @disabled]")


def test_checking_without_a_choice_says_what_to_do(
    client_of, pupil: User, school_class: SchoolClass, set_clock
) -> None:
    browser = begin(client_of, pupil, school_class, set_clock, feedback=Feedback.NOW)
    browser.press("lock")
    assert "Choose a picture first." in browser.text
    assert kept() == []


def test_on_the_older_device_it_is_said_that_the_choice_was_not_saved(client_of, pupil: User, browser: Browser) -> None:
    client_of(pupil).post(reverse("assignments:start", args=[Sitting.objects.get().assignment_id]))
    browser.press("next", choose="B")
    assert "was not saved" in browser.text
    assert "Continue here" in browser.text
    assert kept() == []


def test_a_choice_after_the_time_is_kept_and_said_to_be_late(browser: Browser, set_clock) -> None:
    set_clock(NOON + timedelta(minutes=2))
    browser.press("next", choose="B")
    assert "Time was up before this choice arrived." in browser.text
    assert Event.objects.get().is_late


@pytest.mark.parametrize("then", ["0", "-7", "9999999", "", "elsewhere", "１"])
def test_a_forged_button_leads_somewhere_sensible(browser: Browser, then: str) -> None:
    (form,) = browser.page.xpath("//form[@data-question]")
    response = browser.client.post(form.get("action"), dict(form.form_values()) | {"then": then})
    assert response.status_code == 302
    assert browser.client.get(response["Location"]).status_code == 200


def test_the_first_button_of_the_form_is_the_one_enter_presses(browser: Browser) -> None:
    assert browser.page.xpath("//form[@data-question]//button")[0].get("value") == "next"
