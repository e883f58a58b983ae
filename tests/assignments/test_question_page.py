"""The question page: all a pupil needs, and nothing that tells the key (K1 to K7, R10)."""

from __future__ import annotations

import json
import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.models import AssignedQuestion, Sitting
from assignments.papers import option_names, places
from bank.models import Picture
from tests.assignments.factories import MISTAKES, NOON, choose, drawn, make_assignment

pytestmark = pytest.mark.django_db


@pytest.fixture
def tablet(client_of, pupil: User) -> Client:
    return client_of(pupil)


@pytest.fixture
def sitting(tablet: Client, school_class: SchoolClass, set_clock) -> Sitting:
    assignment = make_assignment(school_class, shuffle_options=True, shuffle_questions=True)
    set_clock(NOON)
    tablet.post(reverse("assignments:start", args=[assignment.pk]))
    return Sitting.objects.get()


def page_of(client: Client, sitting: Sitting, place: int = 1) -> str:
    response = client.get(reverse("assignments:sitting", args=[sitting.pk, place]))
    assert response.status_code == 200
    return response.content.decode()


def version_at(sitting: Sitting, place: int):
    asked = AssignedQuestion.objects.select_related("version")
    return asked.get(pk=sitting.paper[place - 1]["question"]).version


def test_it_shows_the_stem_and_the_five_pictures_in_the_pupils_own_order(tablet: Client, sitting: Sitting) -> None:
    page, version, place = page_of(tablet, sitting), version_at(sitting, 1), places(sitting.paper)[0]
    shown = [int(number) for number in re.findall(r"M(\d+) \d+Z", page)]
    stem = [100, 110]
    assert shown == stem + [200 + 10 * "ABCDE".index(letter) for letter in place.order]
    assert f" {version.pk}Z" in page


def test_the_five_radios_are_named_by_place_and_lettered_a_to_e(tablet: Client, sitting: Sitting) -> None:
    radios = html.fromstring(page_of(tablet, sitting)).xpath("//fieldset[legend]//input[@type='radio']")
    assert [radio.get("aria-label") for radio in radios] == [f"Option {letter}" for letter in "ABCDE"]
    assert tuple(radio.get("value") for radio in radios) == option_names(sitting.pk, places(sitting.paper)[0])


def test_k2_names_of_options_are_digests_that_differ_between_questions_and_sittings(sitting: Sitting) -> None:
    first, second = places(sitting.paper)[:2]
    names = {*option_names(sitting.pk, first), *option_names(sitting.pk, second), *option_names(sitting.pk + 1, first)}
    assert len(names) == 15
    assert all(re.fullmatch("[0-9a-f]{16}", name) for name in names)


def test_k2_a_name_follows_the_option_not_its_place(sitting: Sitting) -> None:
    place = places(sitting.paper)[0]
    turned = place._replace(order=place.order[::-1])
    assert option_names(sitting.pk, turned) == option_names(sitting.pk, place)[::-1]


def test_k2_names_need_the_servers_secret(sitting: Sitting, settings) -> None:
    place = places(sitting.paper)[0]
    before = option_names(sitting.pk, place)
    settings.SECRET_KEY = "another secret of the server, long enough"
    assert not set(before) & set(option_names(sitting.pk, place))


@pytest.mark.parametrize("part", [False, True], ids=["page", "part for the script"])
def test_k1_nothing_of_the_key_is_sent(tablet: Client, sitting: Sitting, part: bool) -> None:
    """Not the key, a mistake, a sentence of one, a step, the fingerprint, a tag, the level, nor a row's number."""
    headers = {"X-Part": "question"} if part else {}
    for place in (1, 2, 3):
        response = tablet.get(reverse("assignments:sitting", args=[sitting.pk, place]), headers=headers)
        sent = response.content.decode() + json.dumps(dict(response.items()))
        version = version_at(sitting, place)
        for kind, _, says in MISTAKES:
            assert kind not in sent
            assert says not in sent
        assert version.fingerprint not in sent
        for step in range(2):
            assert drawn(version, "step", step)[-20:] not in sent
        for word in ("key", "mistake", "difficulty", "fingerprint", "right", "wrong", "correct"):
            assert not re.search(rf"\b{word}\b", re.sub(r"<script.*?</script>", "", sent)), word
        for picture in Picture.objects.filter(version=version):
            assert picture.name not in sent


def test_k1_the_words_of_an_options_picture_do_not_come_along(tablet: Client, sitting: Sitting) -> None:
    """Stored pictures are called by the version's own letter, which is the same for every pupil."""
    version = version_at(sitting, 1)
    for picture in version.pictures.filter(kind="option"):
        picture.svg = picture.svg.replace("<path", f"<title>{picture.title}</title><desc>Two\nholes.</desc><path")
        picture.save()
    page = page_of(tablet, sitting)
    assert "<title>Option" not in page
    assert "<desc>" not in page


def test_k6_no_page_of_a_sitting_is_kept_by_a_cache(tablet: Client, sitting: Sitting) -> None:
    addresses = [
        reverse("assignments:my_sets"),
        reverse("assignments:start", args=[sitting.assignment_id]),
        reverse("assignments:sitting", args=[sitting.pk, 1]),
        reverse("assignments:finish", args=[sitting.pk]),
        reverse("assignments:time_left", args=[sitting.pk]),
    ]
    for address in addresses:
        response = tablet.get(address)
        assert "no-store" in response["Cache-Control"], address
        assert "Last-Modified" not in response
        assert "ETag" not in response


def test_k7_anothers_page_and_none_are_the_same_404(
    client_of, sitting: Sitting, other_pupil: User, foreign_pupil: User
) -> None:
    for stranger in (other_pupil, foreign_pupil):
        client = client_of(stranger)
        for name, *args in (("sitting", 1), ("finish",), ("time_left",), ("review", 1)):
            for number in (sitting.pk, sitting.pk + 1000):
                assert client.get(reverse(f"assignments:{name}", args=[number, *args])).status_code == 404


@pytest.mark.parametrize("place", [0, 4, 10**6])
def test_a_place_that_the_paper_does_not_have_is_not_found(tablet: Client, sitting: Sitting, place: int) -> None:
    assert tablet.get(reverse("assignments:sitting", args=[sitting.pk, place])).status_code == 404


def test_the_tape_tells_what_is_answered_here_and_flagged(tablet: Client, sitting: Sitting) -> None:
    choose(sitting, 1, "A", seq=1, at=NOON)
    choose(sitting, 3, "", seq=2, at=NOON, kind="flag")
    tape = html.fromstring(page_of(tablet, sitting, 2)).xpath("//button[@data-spot]")
    said = [" ".join(spot.text_content().split()) for spot in tape]
    assert said == ["Question 1answered", "Question 2not answered", "Question 3not answered, to look at again"]
    assert [spot.get("aria-current") for spot in tape] == [None, "step", None]


def test_the_time_left_is_the_servers(tablet: Client, sitting: Sitting, set_clock) -> None:
    set_clock(NOON + timedelta(seconds=31, milliseconds=500))
    assert 'data-time-left="58"' in page_of(tablet, sitting)
    told = tablet.get(reverse("assignments:time_left", args=[sitting.pk])).json()
    assert told == {"seconds_left": 58, "stopped": False}


@pytest.mark.parametrize(
    ("seconds", "says"), [(0, "about 2 minutes left"), (20, "about 1 minute left"), (31, "less than a minute left")]
)
def test_the_time_left_is_said_in_whole_minutes(
    tablet: Client, sitting: Sitting, set_clock, seconds: int, says: str
) -> None:
    set_clock(NOON + timedelta(seconds=seconds))
    assert says in page_of(tablet, sitting)


def test_r8_past_its_deadline_it_is_closed_wherever_it_is_read(tablet: Client, sitting: Sitting, set_clock) -> None:
    set_clock(NOON + timedelta(seconds=91))
    start = reverse("assignments:start", args=[sitting.assignment_id])
    assert tablet.get(reverse("assignments:sitting", args=[sitting.pk, 1]))["Location"] == start
    assert tablet.get(reverse("assignments:finish", args=[sitting.pk]))["Location"] == start
    assert "The time is up." in tablet.get(start).content.decode()
    assert "Open now" in (mine := tablet.get(reverse("assignments:my_sets")).content.decode())
    assert "Nothing to do right now." in mine
    sitting.refresh_from_db()
    assert sitting.finished_at is None  # and nobody wrote so


def test_pictures_that_are_not_rendered_yet_are_drawn_on_the_spot(tablet: Client, sitting: Sitting) -> None:
    version_at(sitting, 1).pictures.all().delete()
    page = html.fromstring(page_of(tablet, sitting))
    assert len(page.xpath("//fieldset//label//span[@class='drawing']/svg")) == 5
    assert len(page.xpath("//figure//svg")) == 2


def test_the_page_asks_for_nothing_but_our_own_files(tablet: Client, sitting: Sitting) -> None:
    page = html.fromstring(page_of(tablet, sitting))
    for address in page.xpath("//@src | //link/@href"):
        assert address.startswith("/static/")
    assert not page.xpath("//img")


def test_the_queries_of_a_page_do_not_grow_with_what_was_done(
    tablet: Client, sitting: Sitting, django_assert_max_num_queries
) -> None:
    for seq in range(40):
        choose(sitting, 1 + seq % 3, "ABCDE"[seq % 5], seq=seq + 1, at=NOON)
    with django_assert_max_num_queries(8):  # session, person, school, clock, sitting, acts, version, pictures
        page_of(tablet, sitting)
