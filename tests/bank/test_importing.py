"""Bringing questions in: looked over first, then the new ones or nothing; sent twice, it happens once."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError
from django.utils import timezone

from accounts.models import School, User
from accounts.trail import Entry
from bank.models import Import, Question, State, Tag
from bank.services import importing
from tests.bank.factories import CROWDED, DIAGONAL, HALVES, make_question
from tests.bank.incoming import entries, entry_of, file_of
from tests.bank.pages import parse, words

pytestmark = pytest.mark.django_db


def look(by: User, *questions) -> Import:
    return importing.look_over(data=file_of(*questions), by=by, at=timezone.now())


def take(found: Import, by: User, *, ready: bool = False, tag: str = "") -> list[int]:
    return importing.take(found=found, ready=ready, tag=tag, by=by, at=timezone.now())


def outcomes(found: Import) -> list[str]:
    return [row["outcome"] for row in found.found]


def upload(client, data: bytes, name: str = "questions.json"):
    return client.post("/bank/import/", {"file": SimpleUploadedFile(name, data)})


def test_each_question_is_new_or_repeated_or_refused_with_a_reason(teacher: User, school: School):
    mirrored = entry_of(HALVES)  # the same question, its first crease named the other way round
    mirrored["spec"]["folds"][0]["crease"].reverse()
    broken = entry_of(HALVES, number=7)
    broken["spec"]["folds"][1]["moves"] = ["3/4", "1/2"]
    make_question(school, teacher)
    found = look(teacher, mirrored, entry_of(DIAGONAL), entry_of(DIAGONAL), broken)
    assert outcomes(found) == ["repeated", "new", "repeated", "refused"]
    assert [row["says"] for row in found.found[:3]] == ["Question 1", "", "Question 2 of this file"]
    assert found.found[3]["says"].startswith("Fold 2")
    assert found.found[3]["number"] == 7
    assert Question.objects.count() == 1, "looking saves nothing"


def test_the_new_ones_are_saved_whole_with_their_tags(teacher: User, school: School):
    make_question(school, teacher)
    found = look(teacher, entry_of(DIAGONAL, note="Slow", tags=["Thirds", "diagonal"]), entry_of(HALVES))
    assert take(found, teacher, tag="from millbeck") == [2]
    saved = Question.objects.get(number=2)
    source = make_question(school, teacher, spec=DIAGONAL)
    for field in ("spec", "options", "checks", "difficulty", "level", "folds", "punches", "fingerprint"):
        assert getattr(saved.current, field) == getattr(source.current, field), field
    assert (saved.author, saved.note, saved.state, saved.level, saved.folds) == (teacher, "Slow", "draft", 4, 3)
    assert [tag.name for tag in saved.tags.all()] == ["diagonal", "from millbeck", "thirds"]
    entry = Entry.objects.get(deed="questions_imported")
    assert (entry.by, entry.about) == (teacher, {"questions": 1})


def test_round_trip_into_another_school(client_of, teacher: User, school: School, stranger: User):
    """Taken away here and brought in there: the same questions, and again the same file."""
    make_question(school, teacher, tags=["halves"], state=State.READY)
    make_question(school, teacher, spec=DIAGONAL, tags=["drop"], state=State.READY)
    ids = list(Question.objects.values_list("pk", flat=True))
    here = client_of(teacher).post("/bank/export/", {"question": ids})
    there = client_of(stranger)
    page = upload(there, here.content)
    assert there.post(page["Location"], {"state": "ready", "do": "take"}).status_code == 302
    brought = list(Question.objects.filter(school=stranger.school).values_list("pk", flat=True))
    again = there.post("/bank/export/", {"question": brought})
    assert json.loads(again.content) == json.loads(here.content)
    assert here["Content-Disposition"].startswith('attachment; filename="questions-')


def test_sent_twice_is_once(teacher: User):
    found = look(teacher, *entries())
    assert take(found, teacher) == take(found, teacher) == [1, 2]
    again = look(teacher, *entries())
    assert outcomes(again) == ["repeated", "repeated"]
    assert Question.objects.count() == 2


def test_what_a_colleague_brought_in_meanwhile_is_not_saved_twice(teacher: User, other_teacher: User):
    mine, theirs = look(teacher, *entries()), look(other_teacher, *entries()[:1])
    assert take(theirs, other_teacher) == [1]
    assert take(mine, teacher) == [2]
    assert Question.objects.count() == 2


def test_all_or_nothing(teacher: User, monkeypatch):
    found = look(teacher, *entries())

    def fail(**_):
        raise DatabaseError("the disk is full")

    monkeypatch.setattr(importing, "tag_many", fail)
    with pytest.raises(DatabaseError):
        take(found, teacher)
    assert (Question.objects.count(), Tag.objects.count()) == (0, 0)
    assert Import.objects.get().taken_at is None


def test_ready_only_where_it_was_so_and_every_check_passes(teacher: User):
    crowded, draft = entry_of(CROWDED, state="ready"), entry_of(DIAGONAL, state="draft")
    found = look(teacher, crowded, draft, entry_of(HALVES, state="ready"))
    take(found, teacher, ready=True)
    assert list(Question.objects.order_by("number").values_list("state", flat=True)) == ["draft", "draft", "ready"]
    assert "almost touch" in found.found[0]["says"]


def test_one_bad_question_keeps_no_other_out_or_all_stay_out_as_the_teacher_chooses(client_of, teacher: User):
    broken = {"spec": {}}
    client = client_of(teacher)
    place = upload(client, file_of(entries()[0], broken, entries()[1]))["Location"]
    shown = parse(client.get(place))
    assert words(shown, "//dl[@class='facts']//dd") == ["2", "0", "1"]
    assert "Bring in 2 questions" in words(shown, "//button")
    left = upload(client, file_of(broken, *entries()))["Location"]
    assert client.post(left, {"do": "leave"}).status_code == 302
    assert client.get(left).status_code == 404
    assert Question.objects.count() == 0
    client.post(place, {"state": "draft", "do": "take"})
    assert Question.objects.count() == 2
    assert words(parse(client.get(place)), "//h1") == ["What was brought in"]


def test_a_file_that_takes_too_long_is_looked_at_as_far_as_it_goes(teacher: User, monkeypatch):
    monkeypatch.setattr(importing, "PATIENCE", -1)
    found = look(teacher, *entries())
    assert outcomes(found) == ["refused", "refused"]
    assert "takes too long" in found.found[0]["says"]


def test_what_was_looked_over_is_forgotten_after_a_day(teacher: User):
    found = look(teacher, *entries())
    assert importing.forget_imports(at=found.at + importing.KEPT) == 0
    assert importing.forget_imports(at=found.at + importing.KEPT * 1.01) == 1


@pytest.mark.parametrize("name", ["questions.json", "../../evil.json", "x.exe", "<script>.json", "q" * 200])
def test_a_bad_file_is_refused_beside_its_field_and_changes_nothing(client_of, teacher: User, name):
    answer = upload(client_of(teacher), b"\x89PNG", name)
    assert answer.status_code == 400
    assert words(parse(answer), "//p[@class='error']") == ["This is not a JSON file: its bytes are no UTF-8 text."]
    assert not Import.objects.exists()


def test_no_file_and_an_empty_one_are_asked_for(client_of, teacher: User):
    assert "Choose a file." in client_of(teacher).post("/bank/import/").content.decode()
    assert "This file is empty." in upload(client_of(teacher), b"").content.decode()


def test_a_tag_that_is_one_too_many_stands_beside_its_field(client_of, teacher: User):
    found = look(teacher, entry_of(HALVES, tags=[f"tag {n}" for n in range(12)]))
    client = client_of(teacher)
    answer = client.post(f"/bank/import/{found.pk}/", {"state": "draft", "do": "take", "tag": "one more"})
    assert answer.status_code == 400
    assert "12 tags at most" in answer.content.decode()
    assert Import.objects.get().taken_at is None


def test_hostile_words_are_shown_as_words(client_of, teacher: User):
    spoilt = entries()[0]
    spoilt["spec"]["<script>alert(1)</script>"] = 1
    place = upload(client_of(teacher), file_of(entry_of(DIAGONAL, tags=["<b>bold</b>"]), spoilt))["Location"]
    body = client_of(teacher).get(place).content.decode()
    assert "<b>bold" not in body
    assert "<script>alert" not in body


def test_taken_a_second_time_from_the_page_it_says_so(client_of, teacher: User):
    client = client_of(teacher)
    place = upload(client, file_of(*entries()))["Location"]
    for _ in range(2):
        answer = client.post(place, {"state": "draft", "do": "take"}, follow=True)
    assert "Nothing was done twice." in answer.content.decode()
    assert Question.objects.count() == 2


def test_nothing_chosen_and_anothers_question_are_no_file(client_of, teacher: User, stranger: User):
    foreign = make_question(stranger.school, stranger)
    client = client_of(teacher)
    for sent in ({}, {"question": foreign.pk}, {"question": "1 OR 1=1"}, {"all": "1", "query": "q=nothing"}):
        assert client.post("/bank/export/", sent)["Location"] == "/bank/"
    assert not Entry.objects.filter(deed="questions_exported").exists()


def test_all_that_a_search_found_is_one_choice(client_of, teacher: User, school: School):
    for tag in ("halves", "halves", "other"):
        make_question(school, teacher, tags=[tag])
    file = client_of(teacher).post("/bank/export/", {"all": "1", "query": "q=halves"}).json()
    assert [question["number"] for question in file["questions"]] == [1, 2]
