"""How long records are kept: periods by school, looked over before they are set, carried out by the clock."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone

from accounts.errors import NotAllowedError
from accounts.models import RetentionPeriod, User
from accounts.services.retention import carry_out, months_before, periods_of, plan, set_periods
from accounts.tasks import end_records
from accounts.trail import Deed, Entry, record
from assignments.models import Event, Sitting
from config.celery import app
from tests.accounts.conftest import text_of
from tests.assignments.factories import make_assignment, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.each_database

PAGE = "/records/retention/"
KINDS = {"pupils", "trail", "sittings"}
NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)


def sitting_of(pupil, school_class, days_ago):
    at = NOW - timedelta(days=days_ago)
    return make_sitting(make_assignment(school_class, opens_at=at), pupil, started_at=at, choices="CA")


def pupil_of(school, name, *, days_ago, seen=None):
    """A pupil in no class, written down and last signed in so many days ago."""
    pupil = make_pupil(school, name)
    last = None if seen is None else NOW - timedelta(days=seen)
    User.objects.filter(pk=pupil.pk).update(created_at=NOW - timedelta(days=days_ago), last_login=last)
    return pupil


def due(school, at=NOW, **periods):
    return {planned.kind.key: planned.due for planned in plan(school=school, at=at, periods=periods)}


# --- months -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "months", "before"),
    [
        ("2026-11-25", 24, "2024-11-25"),
        ("2026-03-31", 1, "2026-02-28"),
        ("2024-03-31", 1, "2024-02-29"),
        ("2026-01-15", 1, "2025-12-15"),
        ("2026-12-31", 12, "2025-12-31"),
        ("2026-02-28", 120, "2016-02-28"),
        ("2028-02-29", 12, "2027-02-28"),
    ],
)
def test_months_are_those_of_the_calendar(at, months, before):
    assert months_before(datetime.fromisoformat(at), months) == datetime.fromisoformat(before)


# --- what is due --------------------------------------------------------------------------------------------------


def test_the_school_year_and_one_more_is_suggested(school):
    assert periods_of(school) == dict.fromkeys(KINDS, 24)


def test_sittings_end_after_their_time_with_all_their_answers(school, school_class, pupil, other_pupil):
    old = sitting_of(pupil, school_class, 800)
    young = sitting_of(pupil, school_class, 700)
    assert due(school)["sittings"] == 1
    assert carry_out(school=school, at=NOW)["sittings"] == 1
    assert list(Sitting.objects.all()) == [young]
    assert set(Event.objects.values_list("sitting", flat=True)) == {young.pk}
    assert not Sitting.objects.filter(pk=old.pk).exists()


def test_the_last_moment_still_counts(school, school_class, pupil):
    sitting = sitting_of(pupil, school_class, 0)
    for seconds, count in ((0, 0), (1, 1)):
        at = sitting.started_at.replace(year=sitting.started_at.year + 2) + timedelta(seconds=seconds)
        assert due(school, at)["sittings"] == count


def test_pupils_end_once_they_are_in_no_class_in_use_and_long_unseen(school, school_class, pupil):
    gone = pupil_of(school, "Gone", days_ago=900)
    archived = pupil_of(school, "Archived", days_ago=900, seen=800)
    school_class.archived_at = NOW
    school_class.save()
    enrol(archived, school_class)
    pupil_of(school, "Seen of late", days_ago=900, seen=30)
    pupil_of(school, "New", days_ago=30)
    assert due(school)["pupils"] == 2
    assert carry_out(school=school, at=NOW)["pupils"] == 2
    assert set(User.objects.pupils().values_list("name", flat=True)) == {"Fenna", "Seen of late", "New"}
    assert not User.objects.filter(pk__in=[gone.pk, archived.pk]).exists()


def test_a_pupil_in_a_class_in_use_stays_however_long_unseen(school, school_class, pupil):
    User.objects.filter(pk=pupil.pk).update(created_at=NOW - timedelta(days=4000))
    assert due(school)["pupils"] == 0


def test_a_pupil_who_ends_takes_sittings_that_are_younger_along(school, school_class):
    gone = pupil_of(school, "Gone", days_ago=900)
    sitting_of(gone, school_class, 600)
    carry_out(school=school, at=NOW)
    assert not Sitting.objects.exists()


def test_the_trail_ends_as_well(school, administrator):
    for days in (800, 10):
        record(Deed.SIGNED_IN, by=administrator, at=NOW - timedelta(days=days))
    assert carry_out(school=school, at=NOW)["trail"] == 1
    assert Entry.objects.filter(deed=Deed.SIGNED_IN).count() == 1


def test_each_school_has_its_own_periods(school, other_school, administrator, school_class, foreign_class, pupil):
    foreign = make_pupil(other_school)
    for one, place in ((pupil, school_class), (foreign, foreign_class)):
        sitting_of(one, place, 100)
    set_periods(school=school, periods={"pupils": 24, "trail": 24, "sittings": 3}, by=administrator, at=NOW)
    assert (due(school)["sittings"], due(other_school)["sittings"]) == (1, 0)
    carry_out(school=school, at=NOW)
    carry_out(school=other_school, at=NOW)
    assert [sitting.pupil for sitting in Sitting.objects.all()] == [foreign]


def test_what_went_is_in_the_trail_by_number_and_nothing_when_nothing_went(school, school_class, pupil):
    carry_out(school=school, at=NOW)
    assert not Entry.objects.exists()
    sitting_of(pupil, school_class, 800)
    carry_out(school=school, at=NOW)
    carry_out(school=school, at=NOW)
    entry = Entry.objects.get()
    assert (entry.deed, entry.about, entry.by, entry.school) == (Deed.EXPIRED, {"sittings": 1}, None, school)


@pytest.mark.parametrize("who", ["teacher", "head", "stranger"])
def test_only_the_administrator_sets_periods(request, school, who):
    with pytest.raises(NotAllowedError):
        set_periods(school=school, periods=dict.fromkeys(KINDS, 1), by=request.getfixturevalue(who), at=NOW)
    assert not RetentionPeriod.objects.exists()


# --- the clock and the command ------------------------------------------------------------------------------------


def test_the_task_goes_through_every_school_and_reports(school, other_school, school_class, pupil):
    at = timezone.now() - timedelta(days=800)
    make_sitting(make_assignment(school_class, opens_at=at), pupil, started_at=at, choices="C")
    removed = end_records()
    assert removed[school.pk] == {"pupils": 0, "trail": 0, "sittings": 1}
    assert removed[other_school.pk] == dict.fromkeys(KINDS, 0)
    assert end_records()[school.pk]["sittings"] == 0


def test_the_clock_has_it_every_night():
    entry = app.conf.beat_schedule["records past their time"]
    assert entry["task"] == end_records.name
    assert (entry["schedule"].hour, entry["schedule"].minute) == ({2}, {47})


def test_the_command_previews_and_then_removes(school, school_class, pupil):
    at = timezone.now() - timedelta(days=800)
    make_sitting(make_assignment(school_class, opens_at=at), pupil, started_at=at, choices="C")
    said = StringIO()
    call_command("retention", "--preview", stdout=said)
    assert "Tarnlow School: would remove" in said.getvalue()
    assert "1  Sittings with their answers (24 months)" in said.getvalue()
    assert Sitting.objects.count() == 1
    call_command("retention", stdout=(said := StringIO()))
    assert "Tarnlow School: removed" in said.getvalue()
    assert "1  Sittings with their answers (24 months)" in said.getvalue()
    assert not Sitting.objects.exists()


# --- the page -----------------------------------------------------------------------------------------------------


@pytest.fixture
def old_sitting(school_class, pupil):
    at = timezone.now() - timedelta(days=100)
    return make_sitting(make_assignment(school_class, opens_at=at), pupil, started_at=at, choices="C")


def test_the_page_shows_periods_and_what_is_due(client_of, administrator, old_sitting):
    answer = client_of(administrator).get(PAGE)
    assert [row.due for row, _ in answer.context["rows"]] == [0, 0, 0]
    assert "Sittings with their answers" in text_of(answer)
    assert "We suggest 24 months: the school year and one more." in text_of(answer)


def test_new_periods_are_looked_over_before_they_are_set(client_of, administrator, school, old_sitting):
    client = client_of(administrator)
    fields = {"pupils": "24", "trail": "36", "sittings": "3"}
    answer = client.post(PAGE, fields | {"look": "1"})
    assert answer.status_code == 200
    assert "Not set yet." in text_of(answer)
    assert {row.kind.key: row.due for row, _ in answer.context["rows"]}["sittings"] == 1
    assert not RetentionPeriod.objects.exists()
    looked_over = answer.context["looked_over"]
    answer = client.post(PAGE, fields | {"set": looked_over}, follow=True)
    assert "The periods are set. They are carried out tonight." in text_of(answer)
    assert periods_of(school) == {"pupils": 24, "trail": 36, "sittings": 3}
    assert Sitting.objects.count() == 1
    entry = Entry.objects.get(deed=Deed.PERIODS_SET)
    assert entry.about == {"pupils": 24, "trail": 36, "sittings": 3}


@pytest.mark.parametrize("value", ["", "0", "-1", "121", "x", "1.5", "9" * 400])
def test_a_period_that_is_none_is_refused_beside_its_field_and_stays(client_of, administrator, value):
    answer = client_of(administrator).post(PAGE, {"pupils": "12", "trail": "24", "sittings": value, "set": "1"})
    assert answer.status_code == 400
    assert answer.context["form"].errors.keys() == {"sittings"}
    assert f'value="{value}"' in answer.content.decode() or value == ""
    assert 'value="12"' in answer.content.decode()
    assert not RetentionPeriod.objects.exists()


@pytest.mark.parametrize("looked_over", ["", "1", "pupils=24 trail=24 sittings=24"])
def test_what_was_not_looked_over_is_shown_first(client_of, administrator, old_sitting, looked_over):
    fields = {"pupils": "24", "trail": "24", "sittings": "3"}
    answer = client_of(administrator).post(PAGE, fields | {"set": looked_over})
    assert "Not set yet." in text_of(answer)
    assert not RetentionPeriod.objects.exists()


def test_a_field_of_no_kind_is_not_kept(client_of, administrator):
    fields = {"pupils": "12", "trail": "24", "sittings": "6", "schools": "1"}
    client_of(administrator).post(PAGE, fields | {"set": "pupils=12 trail=24 sittings=6"})
    assert set(RetentionPeriod.objects.values_list("kind", flat=True)) == KINDS
