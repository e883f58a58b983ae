"""The audit trail: what is written into it, that nothing changes it, how it is read."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from accounts.models import Role
from accounts.services import classes, people
from accounts.services.cards import NewPupil, issue_pins
from accounts.services.moving import bring_pupils
from accounts.services.sign_in import lift_class_lock, lift_lock
from accounts.trail import Deed, Entry, UnchangingError, record
from assignments.services.assigning import Terms, assign_set
from assignments.services.paper_marks import PaperAnswers, enter_answers
from bank.models import Question, State
from tests.accounts.conftest import PASSWORD, PIN, give_pin, text_of
from tests.assignments.factories import make_assignment, make_sitting
from tests.factories import make_adult, make_class

pytestmark = pytest.mark.each_database

PAGE, CSV = "/records/trail/", "/records/trail.csv"


def entries():
    """What stands in the trail, oldest first: deed, person, things."""
    return [(one.deed, one.by, one.about) for one in Entry.objects.order_by("pk").select_related("by")]


# --- written once -------------------------------------------------------------------------------------------------


@pytest.fixture
def entry(administrator):
    record(Deed.SIGNED_IN, by=administrator)
    return Entry.objects.get()


def test_an_entry_is_neither_changed_nor_deleted(entry):
    entry.deed = Deed.ERASED
    for change in (entry.save, entry.delete, Entry.objects.all().delete, lambda: Entry.objects.update(about={})):
        with pytest.raises(UnchangingError):
            change()
    assert Entry.objects.get().deed == Deed.SIGNED_IN


def test_the_database_itself_refuses_a_change(entry):
    refusal = pytest.raises(DatabaseError, match="entries of the audit trail are not changed")
    with refusal, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE accounts_entry SET deed = 'erased'")
    assert Entry.objects.get().deed == Deed.SIGNED_IN


def test_retention_alone_forgets(entry):
    assert Entry.objects.before(entry.at).forget() == 0
    assert Entry.objects.before(entry.at + timedelta(seconds=1)).forget() == 1


def test_a_deed_by_nobody_of_no_school_is_not_kept(db):
    record(Deed.STAFF_CHANGED, by=None)
    assert not Entry.objects.exists()


def test_the_time_is_now_and_the_school_that_of_the_person(entry, school):
    assert entry.school == school
    assert timezone.now() - entry.at < timedelta(minutes=1)


# --- who did what -------------------------------------------------------------------------------------------------


def test_deeds_upon_a_class_and_its_pupils_are_written_down(school, teacher, school_class, pupil):
    target = make_class(school, "7 Larch", teachers=(teacher,))
    here, there, who = {"class": school_class.pk}, {"class": target.pk}, {"pupil": pupil.pk}
    classes.add_pupils(school_class=school_class, pupils=[NewPupil("Ilse"), NewPupil("Tove")], by=teacher)
    classes.update_pupil(pupil=pupil, name="Fenna B", extra_time=25, rest_breaks=False, by=teacher)
    issue_pins(school_class=school_class, pupils=[pupil], seen=None, by=teacher)
    lift_lock(user=pupil, by=teacher)
    lift_class_lock(school_class=school_class, by=teacher)
    bring_pupils(source=school_class, target=target, pupils=[pupil], leave=False, by=teacher)
    classes.remove_pupil(school_class=school_class, pupil=pupil, by=teacher)
    assert entries() == [
        (Deed.PUPILS_ADDED, teacher, here | {"pupils": 2}),
        (Deed.PUPIL_CHANGED, teacher, who),
        (Deed.PINS_MADE, teacher, here | {"pupils": 1}),
        (Deed.LOCK_LIFTED, teacher, who),
        (Deed.LOCK_LIFTED, teacher, here),
        (Deed.PUPILS_BROUGHT, teacher, there | {"pupils": 1}),
        (Deed.PUPIL_REMOVED, teacher, who | here),
    ]


def test_who_takes_a_class_and_what_lets_its_pupils_in_are_written_down(school, administrator, teacher):
    made = classes.create_class(school=school, name="7 Larch", teachers=[], by=administrator)
    classes.update_class(school_class=made, name="7 Larch", teachers=[teacher], by=administrator)
    classes.renew_code(school_class=made, by=teacher)
    for _ in range(2):
        classes.archive_class(school_class=made, by=teacher, at=timezone.now())
    for _ in range(2):
        classes.restore_class(school_class=made, by=teacher)
    about = {"class": made.pk}
    assert entries() == [
        *[(Deed.CLASS_CHANGED, administrator, about)] * 2,
        *[(Deed.CLASS_CHANGED, teacher, about)] * 3,  # what is archived or in use already is not again
    ]


def test_a_link_made_on_the_server_is_written_down(school, teacher):
    people.invite(user=teacher, by=None, at=timezone.now())
    assert entries() == [(Deed.STAFF_INVITED, None, {"staff": teacher.pk})]


def test_deeds_upon_accounts_are_written_down(school, administrator):
    at = timezone.now()
    made = people.create_adult(school=school, role=Role.TEACHER, email="n@x.example", name="N", by=administrator)
    people.update_adult(user=made, name="N N", email="n@x.example", role=Role.HEAD, by=administrator)
    token = people.invite(user=made, by=administrator, at=at)
    people.accept_invitation(invitation=people.open_invitation(token=token, at=at), password=PASSWORD, at=at)
    people.disable(user=made, by=administrator)
    people.enable(user=made, by=administrator)
    about = {"staff": made.pk}
    assert entries() == [
        *[(Deed.STAFF_CHANGED, administrator, about)] * 2,
        (Deed.STAFF_INVITED, administrator, about),
        (Deed.PASSWORD_SET, made, {}),
        (Deed.STAFF_DISABLED, administrator, about),
        (Deed.STAFF_ENABLED, administrator, about),
    ]


def test_a_refused_deed_is_not_written_down_as_done(school, administrator, teacher):
    with pytest.raises(people.EmailTakenError):
        people.update_adult(user=teacher, name="X", email=administrator.email, role=Role.TEACHER, by=administrator)
    assert entries() == []


def test_an_adult_signing_in_and_being_refused(client, known_teacher):
    client.post("/sign-in/", {"email": known_teacher.email, "password": "wrong"})
    client.post("/sign-in/", {"email": known_teacher.email, "password": PASSWORD})
    assert entries() == [
        (Deed.SIGN_IN_REFUSED, None, {"staff": known_teacher.pk}),
        (Deed.SIGNED_IN, known_teacher, {}),
    ]


def test_of_a_card_refused_the_class_alone_is_kept(client, card, try_card):
    try_card(card.fields(pin="000000"))
    try_card(card.fields())
    assert entries() == [(Deed.SIGN_IN_REFUSED, None, {"class": card.school_class.pk})]


def test_an_unknown_address_belongs_to_no_school(client, db):
    client.post("/sign-in/", {"email": "nobody@nowhere.example", "password": "wrong"})
    assert entries() == []


def test_tries_under_a_lock_do_not_flood_it(client, known_teacher):
    for _ in range(15):
        client.post("/sign-in/", {"email": known_teacher.email, "password": "wrong"})
    assert Entry.objects.filter(deed=Deed.SIGN_IN_REFUSED).count() == 10


def test_a_page_refused_to_an_adult_is_kept_to_a_child_not(client_of, teacher, pupil):
    client_of(teacher).get("/staff/")
    client_of(pupil).get("/staff/")
    assert entries() == [(Deed.PAGE_REFUSED, teacher, {})]


def test_looking_at_results_and_pupils_and_taking_them_away(client_of, head, teacher, school_class, pupil):
    begun = timezone.now() - timedelta(days=3)
    assignment = make_assignment(school_class, opens_at=begun)
    make_sitting(assignment, pupil, started_at=begun, choices="CA")
    about = {"assignment": assignment.pk, "class": school_class.pk}
    client = client_of(teacher)
    client.get(reverse("accounts:pupil_edit", args=[pupil.pk]))
    client.get(reverse("assignments:result", args=[assignment.pk]))
    client.get(reverse("assignments:result_pupil", args=[assignment.pk, pupil.pk]))
    client.get(reverse("assignments:result_review", args=[assignment.pk, pupil.pk, 1]))
    client_of(head).get(reverse("assignments:export_answers"))
    assert entries() == [
        (Deed.PUPIL_SEEN, teacher, {"pupil": pupil.pk}),
        (Deed.RESULTS_SEEN, teacher, about),
        (Deed.PUPIL_RESULTS_SEEN, teacher, about | {"pupil": pupil.pk}),
        (Deed.PUPIL_RESULTS_SEEN, teacher, about | {"pupil": pupil.pk}),
        (Deed.EXPORTED, head, {"class": school_class.pk}),
    ]


def test_changing_what_was_assigned(client_of, teacher, school_class):
    begun = timezone.now() - timedelta(minutes=5)
    assignment = make_assignment(school_class, opens_at=begun, closes_at=begun + timedelta(days=1))
    client = client_of(teacher)
    address = reverse("assignments:change", args=[assignment.pk])
    about = {"assignment": assignment.pk, "class": school_class.pk}
    assert client.post(address, {"deed": "more_time", "minutes": "never"}).status_code == 409
    assert entries() == []
    assert client.post(address, {"deed": "take_back"}).status_code == 302
    assert entries() == [(Deed.ASSIGNMENT_CHANGED, teacher, about)]


def test_assigning_a_set_and_typing_in_papers(teacher, school_class, pupil):
    now = timezone.now()
    made = make_assignment(school_class, opens_at=now - timedelta(hours=2))
    Question.objects.update(state=State.READY)
    terms = Terms(opens_at=now, closes_at=now + timedelta(days=1), allowance=600)
    sent = assign_set(question_set=made.question_set, school_class=school_class, terms=terms, by=teacher)
    enter_answers(assignment=made, answers=[PaperAnswers(pupil, 0, "CAE")], sat_at=now, by=teacher, at=now)
    assert entries() == [
        (Deed.SET_ASSIGNED, teacher, {"assignment": sent.pk, "class": school_class.pk}),
        (Deed.ANSWERS_TYPED, teacher, {"assignment": made.pk, "class": school_class.pk, "papers": 1}),
    ]


def test_what_is_not_theirs_to_see_leaves_no_trace_of_seeing(client_of, other_teacher, school_class, pupil):
    assignment = make_assignment(school_class)
    client_of(other_teacher).get(reverse("assignments:result", args=[assignment.pk]))
    client_of(other_teacher).get(reverse("accounts:pupil_edit", args=[pupil.pk]))
    assert entries() == []


def test_no_name_answer_or_pin_is_in_it(client_of, client, teacher, card, try_card):
    """The whole table, after all that could have put one there."""
    try_card(card.fields(pin="000000"))
    give_pin(card.pupil)
    client_of(teacher).post(
        reverse("accounts:pupil_edit", args=[card.pupil.pk]),
        {"name": "Fenna Canary", "extra_time": "25", "own_extra_time": ""},
    )
    client_of(teacher).post(reverse("accounts:cards", args=[card.school_class.pk]), {"pupil": card.pupil.pk})
    written = json.dumps(list(Entry.objects.values("deed", "about")))
    assert len(entries()) >= 2
    for word in ("Fenna", "Canary", PIN, "000000"):
        assert word not in written


# --- read ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def written(administrator, teacher, pupil, school_class, stranger):
    day = datetime(2026, 5, 14, 12, tzinfo=UTC)
    record(Deed.SIGNED_IN, by=teacher, at=day)
    record(Deed.PUPIL_SEEN, by=teacher, at=day + timedelta(days=1), about={"pupil": pupil.pk})
    record(
        Deed.PUPILS_ADDED, by=administrator, at=day + timedelta(days=2), about={"class": school_class.pk, "pupils": 3}
    )
    record(Deed.ERASED, by=administrator, at=day + timedelta(days=3), about={"pupil": 987654})
    record(Deed.SIGNED_IN, by=stranger, at=day)


def deeds(client, **query):
    return [entry.deed for entry, _ in client.get(PAGE, query).context["entries"]]


def test_the_page_shows_the_school_newest_first_with_names_looked_up(client_of, administrator, written):
    answer = client_of(administrator).get(PAGE)
    shown = [(entry.deed, words) for entry, words in answer.context["entries"]]
    assert shown == [
        (Deed.ERASED, ["pupil 987654, gone"]),
        (Deed.PUPILS_ADDED, ["6 Larch", "3 pupils"]),
        (Deed.PUPIL_SEEN, ["Fenna"]),
        (Deed.SIGNED_IN, []),
    ]
    assert "Odo Finch" not in text_of(answer)


def test_the_page_filters_by_person_deed_and_day(client_of, administrator, teacher, written):
    client = client_of(administrator)
    assert deeds(client, person=teacher.pk) == [Deed.PUPIL_SEEN, Deed.SIGNED_IN]
    assert deeds(client, deed=Deed.ERASED) == [Deed.ERASED]
    assert deeds(client, since="2026-05-16") == [Deed.ERASED, Deed.PUPILS_ADDED]
    assert deeds(client, until="2026-05-14") == [Deed.SIGNED_IN]
    assert deeds(client, since="2026-05-15", until="2026-05-15") == [Deed.PUPIL_SEEN]
    assert deeds(client, deed=Deed.FACTOR_SET) == []


def test_days_are_those_of_the_schools_clock(client_of, administrator, teacher):
    """00:30 on 15 May in London is 23:30 UTC on the 14th (British Summer Time, UTC+1)."""
    record(Deed.SIGNED_IN, by=teacher, at=datetime(2026, 5, 14, 23, 30, tzinfo=UTC))
    client = client_of(administrator)
    assert deeds(client, until="2026-05-14") == []
    assert deeds(client, since="2026-05-15", until="2026-05-15") == [Deed.SIGNED_IN]


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ({"since": "yesterday"}, "Write a date, for instance 2026-05-14."),
        ({"until": "9999-12-31"}, "Write a date, for instance 2026-05-14."),
        ({"since": "0001-01-01"}, "Write a date, for instance 2026-05-14."),
        ({"since": "2026-05-15", "until": "2026-05-14"}, "This is before the first day."),
        ({"person": "x"}, "What was chosen at “Who” is not offered."),
        ({"deed": "everything"}, "What was chosen at “What” is not offered."),
    ],
)
@pytest.mark.parametrize("page", [PAGE, CSV])
def test_a_filter_that_is_none_is_refused_with_a_sentence(client_of, administrator, page, query, sentence):
    record(Deed.SIGN_IN_REFUSED, by=None, school=administrator.school)
    answer = client_of(administrator).get(page, query)
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert "Nothing is listed while a filter cannot be used." in text_of(answer)
    assert not answer.context["entries"]


def test_a_person_of_another_school_is_no_choice(client_of, administrator, stranger):
    assert client_of(administrator).get(PAGE, {"person": stranger.pk}).status_code == 400


def test_fifty_entries_cost_no_more_queries_than_one(
    client_of, administrator, pupil, school_class, django_assert_max_num_queries
):
    for _ in range(60):
        record(Deed.PUPIL_REMOVED, by=administrator, about={"pupil": pupil.pk, "class": school_class.pk})
    client = client_of(administrator)
    with django_assert_max_num_queries(9):
        assert len(deeds(client)) == 50


def test_the_csv_holds_numbers_in_place_of_names(client_of, administrator, pupil, school_class, written):
    answer = client_of(administrator).get(CSV, {"until": "2026-06-01"})
    rows = list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode(), newline="")))
    assert [(row["deed"], row["about"], row["by_email"]) for row in rows] == [
        ("erased", "pupil 987654", "rafe@tarnlow.example"),
        ("pupils_added", f"class {school_class.pk}; pupils 3", "rafe@tarnlow.example"),
        ("pupil_seen", f"pupil {pupil.pk}", "edda@tarnlow.example"),
        ("signed_in", "", "edda@tarnlow.example"),
    ]
    assert rows[0]["at"] == "2026-05-17T13:00:00+01:00"  # noon in UTC is one o'clock on the school's wall
    assert answer["Content-Disposition"] == f'attachment; filename="audit trail {timezone.localdate():%Y-%m-%d}.csv"'


def test_taking_it_away_is_in_it(client_of, administrator):
    client_of(administrator).get(CSV)
    assert entries() == [(Deed.TRAIL_EXPORTED, administrator, {})]


@pytest.mark.parametrize("email", ["=1+1@x.example", "+a@x.example", "-b@x.example"])
def test_no_cell_of_the_csv_is_a_formula(client_of, administrator, school, email):
    record(Deed.SIGNED_IN, by=make_adult(school, email=email))
    body = b"".join(client_of(administrator).get(CSV).streaming_content).decode()
    cells = [cell for row in csv.reader(io.StringIO(body, newline="")) for cell in row]
    assert f"'{email}" in cells
    assert not [cell for cell in cells if cell[:1] in tuple("=+-@\t\r")]


def test_dates_offered_are_days(client_of, administrator, written):
    form = client_of(administrator).get(PAGE, {"since": "2026-05-14"}).context["form"]
    assert form.cleaned_data["since"] == date(2026, 5, 14)
