"""A pupil signs in with class code, name and PIN."""

from __future__ import annotations

import unicodedata

import pytest
from django.contrib.auth import SESSION_KEY
from django.urls import reverse

from accounts import pins
from accounts.models import Enrolment, SignInFailure
from accounts.services import classes
from accounts.services.sign_in import NO_SUCH_CARD, tidy_code
from tests.accounts.conftest import PIN, give_pin, same_page, text_of
from tests.factories import enrol, make_pupil

SIGN_IN = "/pupil/"


def test_the_page_is_there_for_everyone_and_kept_in_no_cache(client, db):
    answer = client.get(SIGN_IN)
    assert answer.status_code == 200
    assert "no-store" in answer["Cache-Control"]
    for words in ("Class code", "Your name", "Your PIN", "The six numbers on your card.", "No card? Ask your teacher"):
        assert words in text_of(answer)


def test_the_page_leads_to_the_adults_and_to_privacy(client, db):
    page = client.get(SIGN_IN).content.decode()
    for name in ("accounts:sign_in", "accounts:privacy", "accounts:privacy_pupils"):
        assert f'href="{reverse(name)}"' in page


def test_fields_ask_a_shared_tablet_to_remember_nothing(client, db):
    page = client.get(SIGN_IN).content.decode()
    assert page.count('autocomplete="off"') == 3
    assert 'inputmode="numeric"' in page
    assert "maxlength" in page


def test_a_card_opens_the_door(client, card):
    answer = client.post(SIGN_IN, card.fields())
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert int(client.session[SESSION_KEY]) == card.pupil.pk


@pytest.mark.parametrize(
    "change",
    [
        {"code": "lower"},
        {"code": "spaced"},
        {"name": "  fENNA "},
        {"name": "Fen\u200bna\u202e"},
        {"pin": "482 916"},
        {"pin": " 482916 "},
    ],
)
def test_details_count_however_they_are_typed(client, card, change):
    code = card.school_class.code
    shapes = {"lower": code.lower(), "spaced": f" {code.replace('-', ' ')} "}
    fields = card.fields() | {key: shapes.get(value, value) for key, value in change.items()}
    assert client.post(SIGN_IN, fields).status_code == 302


@pytest.mark.parametrize(
    ("typed", "code"),
    [("ktrw-4827", "KTRW-4827"), ("KTRW 4827", "KTRW-4827"), ("ktrw4827", "KTRW-4827"), (" k-t.rw_48 27", "KTRW-4827")],
)
def test_code_is_tidied(typed, code):
    assert tidy_code(typed) == code


def test_name_typed_in_the_other_unicode_form_is_the_same(client, school, school_class):
    pupil = make_pupil(school, unicodedata.normalize("NFC", "Zoë"))
    enrol(pupil, school_class)
    give_pin(pupil)
    fields = {"code": school_class.code, "name": unicodedata.normalize("NFD", "Zoë"), "pin": PIN}
    assert client.post(SIGN_IN, fields).status_code == 302


@pytest.mark.parametrize(
    ("name", "typed"),
    [("O'Brien", "o’brien"), ("O’Brien", "O'Brien"), ("Zoë", "Zoe"), ("Łukasz", "lukasz"), ("Ann-Marie", "Ann Marie")],
)
def test_name_typed_with_the_letters_a_tablet_has_is_the_same(client, school, school_class, name, typed):
    """Some keyboards turn ' into ’ by themselves, and few of a British school show ë or Ł."""
    pupil = make_pupil(school, name)
    enrol(pupil, school_class)
    give_pin(pupil)
    assert client.post(SIGN_IN, {"code": school_class.code, "name": typed, "pin": PIN}).status_code == 302
    assert int(client.session[SESSION_KEY]) == pupil.pk


def test_two_names_alike_in_plain_letters_are_kept_apart(client, school, school_class):
    for name in ("Zoë", "Zoé", "🦊"):
        pupil = make_pupil(school, name)
        enrol(pupil, school_class)
        give_pin(pupil)
    for typed, status in (("Zoé", 302), ("Zoe", 400), ("🦁", 400)):
        answer = client.post(SIGN_IN, {"code": school_class.code, "name": typed, "pin": PIN})
        assert (typed, answer.status_code) == (typed, status)


WRONG = [{"code": "XXXX-9999"}, {"name": "Somebody"}, {"pin": "000000"}, {"code": "?"}, {"name": "<script>"}]


@pytest.mark.parametrize("change", WRONG)
def test_one_sentence_whatever_is_wrong(client, card, change):
    answer = client.post(SIGN_IN, card.fields(**change))
    assert answer.status_code == 400
    assert NO_SUCH_CARD == "That does not match. Look at your card and try again."
    assert text_of(answer).count(NO_SUCH_CARD) == 1
    assert SESSION_KEY not in client.session


def test_wrong_code_name_and_pin_are_answered_alike_to_the_byte(client, card):
    def answer(change):
        typed = card.fields(**change)
        response = client.post(SIGN_IN, typed)
        page = same_page(response, typed["code"], typed["name"])
        return response.status_code, sorted(response.headers), sorted(response.cookies), page

    answers = [answer(change) for change in WRONG[:3]]
    assert answers[0] == answers[1] == answers[2]


@pytest.mark.parametrize("change", [{}, *WRONG[:3]])
def test_as_much_work_whatever_is_wrong(client, card, change, monkeypatch):
    hashed = []
    encode, verify = pins.PinHasher.encode, pins.PinHasher.verify
    monkeypatch.setattr(pins.PinHasher, "encode", lambda *a: hashed.append("encode") or encode(*a))
    monkeypatch.setattr(pins.PinHasher, "verify", lambda *a: hashed.append("verify") or verify(*a))
    client.post(SIGN_IN, card.fields(**change))
    assert len(hashed) == 1


def test_code_and_name_stay_and_the_pin_goes(client, card):
    page = client.post(SIGN_IN, card.fields(pin="111111")).content.decode()
    assert f'value="{card.school_class.code}"' in page
    assert 'value="Fenna"' in page
    assert "111111" not in page


@pytest.mark.parametrize("missing", ["code", "name", "pin"])
def test_an_empty_field_is_named_and_counts_as_no_failure(client, card, missing):
    answer = client.post(SIGN_IN, card.fields(**{missing: ""}))
    assert answer.status_code == 400
    assert f'id="id_{missing}_error"' in answer.content.decode()
    assert not SignInFailure.objects.exists()


@pytest.mark.parametrize("field", ["code", "name", "pin"])
@pytest.mark.parametrize("typed", ["\x00", "a\x00b", "x" * 5000])
def test_nonsense_is_a_form_error(client, card, field, typed):
    answer = client.post(SIGN_IN, card.fields(**{field: typed}))
    assert answer.status_code == 400
    assert SESSION_KEY not in client.session


def test_the_page_never_lists_a_class(client, card, school, school_class):
    enrol(make_pupil(school, "Quillan"), school_class)
    for change in ({}, *WRONG):
        page = client.post(SIGN_IN, card.fields(pin="000000") | change).content.decode()
        assert "Quillan" not in page
        assert school_class.name not in page
        assert "Tarnlow" not in page


def test_pupil_of_two_classes_signs_in_by_either_code(client, card, other_class):
    enrol(card.pupil, other_class)
    assert client.post(SIGN_IN, card.fields(code=other_class.code)).status_code == 302


def test_namesakes_of_two_classes_are_kept_apart(client, card, school, other_class):
    namesake = make_pupil(school, "Fenna")
    enrol(namesake, other_class)
    give_pin(namesake, "111111")
    assert client.post(SIGN_IN, card.fields(code=other_class.code)).status_code == 400
    client.post(SIGN_IN, card.fields(code=other_class.code, pin="111111"))
    assert int(client.session[SESSION_KEY]) == namesake.pk


def test_archived_class_lets_nobody_in(client, card, administrator, clock):
    classes.archive_class(school_class=card.school_class, by=administrator, at=clock())
    assert client.post(SIGN_IN, card.fields()).status_code == 400
    classes.restore_class(school_class=card.school_class, by=administrator)
    assert client.post(SIGN_IN, card.fields()).status_code == 302


def test_pupil_taken_out_of_the_class_is_not_let_in(client, card):
    Enrolment.objects.all().delete()
    assert client.post(SIGN_IN, card.fields()).status_code == 400


def test_disabled_pupil_is_not_let_in(client, card):
    card.pupil.is_active = False
    card.pupil.save()
    assert client.post(SIGN_IN, card.fields()).status_code == 400


def test_pupil_without_a_pin_is_not_let_in(client, school, school_class):
    enrol(make_pupil(school, "Wim"), school_class)
    for pin in ("000000", "!", ""):
        assert client.post(SIGN_IN, {"code": school_class.code, "name": "Wim", "pin": pin}).status_code == 400


def test_adult_cannot_come_in_by_a_card(client, known_teacher, school_class):
    fields = {"code": school_class.code, "name": known_teacher.name, "pin": PIN}
    assert client.post(SIGN_IN, fields).status_code == 400


def test_the_page_asked_for_comes_after_signing_in(client, card):
    answer = client.post(f"{SIGN_IN}?next=/my/", card.fields())
    assert answer["Location"] == "/my/"


@pytest.mark.parametrize(
    "elsewhere", ["//other.example/", "https://other.example/", "javascript:alert(1)", "\\\\other"]
)
def test_no_other_site_is_gone_to(client, card, elsewhere):
    answer = client.post(SIGN_IN, card.fields(), query_params={"next": elsewhere})
    assert answer["Location"] == "/"


def test_someone_signed_in_is_named_and_may_carry_on_or_leave(client_of, pupil):
    words = text_of(client_of(pupil).get(SIGN_IN))
    assert "Fenna is signed in on this device." in words
    assert "Carry on as Fenna" in words
    assert "Sign out" in words


def test_the_next_child_takes_the_place_of_the_last(client_of, card, other_pupil):
    browser = client_of(other_pupil)
    browser.session["left"] = "behind"
    browser.post(SIGN_IN, card.fields())
    assert int(browser.session[SESSION_KEY]) == card.pupil.pk
    assert "left" not in browser.session


def test_thirty_one_pupils_at_one_address_get_in(client, school, school_class, django_assert_max_num_queries):
    """A whole class signs in from one school: nothing is counted by address."""
    hashed = pins.hash_pin(PIN)
    for number in range(31):
        pupil = make_pupil(school, f"Pupil {number:02}")
        type(pupil).objects.filter(pk=pupil.pk).update(password=hashed)
        enrol(pupil, school_class)
    for number in range(31):
        fields = {"code": school_class.code, "name": f"Pupil {number:02}", "pin": PIN}
        assert client.post(SIGN_IN, fields, REMOTE_ADDR="192.0.2.7").status_code == 302


def test_signing_in_asks_the_database_a_fixed_number_of_times(client, card, django_assert_max_num_queries):
    with django_assert_max_num_queries(16):
        client.post(SIGN_IN, card.fields())
