"""What is kept about a pupil, shown and handed over; each room says for itself what it holds."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts import holdings
from accounts.models import SignInFailure, User
from accounts.trail import Deed, Entry, record
from assignments.models import Event, Sitting
from tests.accounts.conftest import give_pin, text_of
from tests.assignments.factories import make_assignment, make_sitting
from tests.factories import enrol, make_pupil


@pytest.fixture
def sitting(school_class, pupil):
    now = timezone.now()
    assignment = make_assignment(school_class, opens_at=now - timedelta(days=3), title="Monday set")
    assignment.extra_times.create(pupil=pupil, percent=30)
    return make_sitting(assignment, pupil, started_at=now - timedelta(days=3), choices="CA", extra_percent=30)


def page(pupil):
    return reverse("accounts:pupil_held", args=[pupil.pk])


def parts_of(client, pupil):
    return json.loads(client.get(reverse("accounts:pupil_held_json", args=[pupil.pk])).content)["parts"]


def test_the_page_shows_what_every_room_holds(client_of, administrator, pupil, sitting):
    SignInFailure.objects.create(user=pupil, who="x", at=timezone.now())
    words = text_of(client_of(administrator).get(page(pupil)))
    for heading in ("The account", "Classes", "Signed in now", "Sittings", "Answers, and marks to look again"):
        assert heading in words
    assert "Monday set" in words
    assert "Ask your data protection lead before you hand this over" in words
    assert "Practice scores are not a standardised measure of ability." in words


def test_the_json_holds_the_same_parts_in_full(client_of, administrator, pupil, school_class, sitting):
    give_pin(pupil)
    SignInFailure.objects.create(user=pupil, who="x", at=timezone.now())
    client_of(pupil)
    parts = parts_of(client_of(administrator), pupil)
    assert parts["The account"][0] | {"Written down": None} == {
        "Number": pupil.pk,
        "Name": "Fenna",
        "School": "Tarnlow School",
        "Role": "Pupil",
        "Extra time, per cent": 0,
        "May take rest breaks": "no",
        "PIN": "kept as a hash",
        "May sign in": "yes",
        "Written down": None,
        "Last signed in": parts["The account"][0]["Last signed in"],
    }
    assert [row["Class"] for row in parts["Classes"]] == [school_class.name]
    assert len(parts["Signed in now"]) == len(parts["Sign-ins that failed, of the last day"]) == 1
    assert [(row["Set"], row["Extra time in it, per cent"]) for row in parts["Sittings"]] == [("Monday set", 30)]
    answers = parts["Answers, and marks to look again"]
    assert [(row["Question in the set"], row["Option"], row["Too late"]) for row in answers] == [
        (1, "C", "no"),
        (2, "A", "no"),
    ]
    assert [row["Per cent"] for row in parts["Extra time for single sets"]] == [30]


def test_every_column_of_an_account_is_told_but_the_hash_itself(client_of, administrator, pupil):
    """A new column without its line on the page fails here."""
    told = {
        "id",
        "name",
        "school",
        "role",
        "extra_time",
        "rest_breaks",
        "password",
        "is_active",
        "created_at",
        "last_login",
    }
    never_of_a_pupil = {"email"}
    assert {field.name for field in User._meta.concrete_fields} == told | never_of_a_pupil
    assert len(parts_of(client_of(administrator), pupil)["The account"][0]) == len(told)


def test_every_column_of_a_sitting_and_of_an_answer_is_told(client_of, administrator, pupil, sitting):
    """Of a sitting the class and which of several papers it is are told besides; a new column fails here."""
    parts = parts_of(client_of(administrator), pupil)
    columns = {field.name for field in Sitting._meta.concrete_fields} - {"pupil"}
    assert len(parts["Sittings"][0]) == len(columns | {"class", "which paper"})
    told_as_order = {"epoch", "seq"}  # as 1.2
    columns = {field.name for field in Event._meta.concrete_fields} - told_as_order - {"id"}
    assert len(parts["Answers, and marks to look again"][0]) == len(columns) + len({"order"})


def test_the_hash_of_the_pin_is_not_handed_over(client_of, administrator, pupil):
    give_pin(pupil)
    client = client_of(administrator)
    for answer in (client.get(page(pupil)), client.get(reverse("accounts:pupil_held_json", args=[pupil.pk]))):
        assert b"argon2" not in answer.content


def test_nothing_of_another_pupil_is_in_it(client_of, school, administrator, pupil, school_class, sitting):
    other = make_pupil(school, "Quirin")
    enrol(other, school_class)
    make_sitting(sitting.assignment, other, started_at=timezone.now(), choices="EEE")
    record(Deed.PUPIL_SEEN, by=administrator, about={"pupil": other.pk, "class": school_class.pk})
    parts = parts_of(client_of(administrator), pupil)
    assert len(parts["Sittings"]) == 1
    assert "Quirin" not in json.dumps(parts)
    assert Deed.PUPIL_SEEN.label not in json.dumps(parts, ensure_ascii=False)


def test_it_says_who_saw_and_took_away_what_concerns_the_pupil(
    client_of, administrator, teacher, head, pupil, school_class, other_class
):
    record(Deed.EXPORTED, by=head, about={"class": school_class.pk})
    record(Deed.RESULTS_SEEN, by=head, about={"class": other_class.pk})
    record(Deed.PUPIL_SEEN, by=teacher, about={"pupil": pupil.pk})
    rows = parts_of(client_of(administrator), pupil)["Who saw, changed or took away what"]
    assert [(row["Who"], row["What"], row["Concerned"]) for row in rows] == [
        ("Ines Holt", Deed.EXPORTED.label, "the class"),
        ("Edda Marlin", Deed.PUPIL_SEEN.label, "the pupil"),
        ("Rafe Quill", Deed.DATA_EXPORTED.label, "the pupil"),
    ]


def test_looking_and_taking_away_are_in_the_trail(client_of, administrator, pupil):
    client = client_of(administrator)
    client.get(page(pupil))
    client.get(reverse("accounts:pupil_held_json", args=[pupil.pk]))
    assert list(Entry.objects.order_by("pk").values_list("deed", "about")) == [
        (Deed.DATA_SEEN, {"pupil": pupil.pk}),
        (Deed.DATA_EXPORTED, {"pupil": pupil.pk}),
    ]


def test_the_file_is_named_without_the_name(client_of, administrator, pupil):
    answer = client_of(administrator).get(reverse("accounts:pupil_held_json", args=[pupil.pk]))
    assert answer["Content-Disposition"].startswith(f'attachment; filename="pupil {pupil.pk} ')
    assert "Fenna" not in answer["Content-Disposition"]
    assert answer["Content-Type"] == "application/json"


def test_names_of_any_writing_are_text_on_the_page(client_of, administrator, school):
    hostile = make_pupil(school, "<script>alert(1)</script>")
    answer = client_of(administrator).get(page(hostile))
    assert b"<script>alert" not in answer.content
    assert b"&lt;script&gt;alert" in answer.content


# --- the list -----------------------------------------------------------------------------------------------------


def test_the_list_finds_pupils_of_no_class(client_of, administrator, school, pupil, foreign_pupil):
    for name in ("Zia", "Émile"):
        make_pupil(school, name)
    client = client_of(administrator)
    assert [one.name for one in client.get("/records/").context["page"]] == ["Émile", "Fenna", "Zia"]
    assert [one.name for one in client.get("/records/?without_class=on").context["page"]] == ["Émile", "Zia"]
    assert [one.name for one in client.get("/records/?name=FEN").context["page"]] == ["Fenna"]
    assert "No pupil is found by this." in text_of(client.get("/records/?name=Xaver"))


def test_a_school_without_pupils_is_shown_the_way_to_its_classes(client_of, administrator):
    answer = client_of(administrator).get("/records/")
    assert "There are no pupils yet. They are added to a class." in text_of(answer)
    assert f'href="{reverse("accounts:classes")}">To the classes' in answer.content.decode()


@pytest.mark.parametrize("query", ["page=-1", "page=x", "page=999", "without_class=2"])
def test_odd_queries_of_the_list_are_taken_kindly(client_of, administrator, pupil, query):
    assert client_of(administrator).get(f"/records/?{query}").status_code == 200


@pytest.mark.parametrize("name", ["a%00b", "x" * 81])
def test_a_name_that_is_none_is_refused_with_a_sentence(client_of, administrator, name):
    answer = client_of(administrator).get(f"/records/?name={name}")
    assert answer.status_code == 400
    assert "character" in text_of(answer)


def test_two_hundred_pupils_cost_no_more_queries_than_two(
    client_of, administrator, school, school_class, django_assert_max_num_queries
):
    for _ in range(60):
        enrol(make_pupil(school), school_class)
    client = client_of(administrator)
    with django_assert_max_num_queries(8):
        client.get("/records/")


# --- the registry -------------------------------------------------------------------------------------------------


def test_a_room_that_registers_is_asked_without_being_known(monkeypatch, pupil):
    monkeypatch.setattr(holdings, "_holdings", dict(holdings._holdings))
    asked = []
    part = holdings.Part("Drawings", ({"Number": 1},))
    holdings.register("attic", holdings.Holding(held_about=lambda who: [part], erase=asked.append))
    assert holdings.held_about(pupil)[-1] == part
    holdings.erase(pupil)
    assert asked == [pupil]
    assert not User.objects.filter(pk=pupil.pk).exists()


def test_rooms_let_go_in_turn_the_last_built_first(monkeypatch, pupil):
    monkeypatch.setattr(holdings, "_holdings", {})
    order = []
    for room in ("ground", "upper"):
        holding = holdings.Holding(held_about=lambda who: [], erase=lambda who, room=room: order.append(room))
        holdings.register(room, holding)
    holdings.erase(pupil)
    assert order == ["upper", "ground"]


def test_a_part_without_rows_has_no_headings():
    assert holdings.Part("Nothing", ()).headings == ()
