"""Sessions found by whose they are, ended, and kept from saying a name that is erased."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone

from accounts.services.sessions import MESSAGES, end_sessions, forget_messages_with, sessions_of
from tests.accounts.conftest import is_signed_in, text_of


def test_the_sessions_of_one_person_are_found_and_no_others(client_of, pupil, other_pupil, teacher):
    devices = [client_of(person) for person in (pupil, pupil, other_pupil, teacher)]
    keys = {device.session.session_key for device in devices[:2]}
    assert {session.session_key for session in sessions_of(pupil)} == keys


def test_ending_them_signs_that_person_out_everywhere(client_of, pupil, teacher):
    first, second, other = client_of(pupil), client_of(pupil), client_of(teacher)
    assert is_signed_in(first)
    end_sessions(pupil)
    assert [is_signed_in(device) for device in (first, second, other)] == [False, False, True]


@pytest.mark.parametrize("name", ["Fenna Quillfeather", "Zoë Ångström", 'O"Brien', "\\u00e9"])
def test_what_was_about_to_be_said_of_a_name_is_taken_back(client_of, teacher, pupil, name):
    client = client_of(teacher)
    edit = reverse("accounts:pupil_edit", args=[pupil.pk])
    client.post(edit, {"name": name, "extra_time": "0", "own_extra_time": ""})
    assert MESSAGES in client.session
    forget_messages_with(name)
    assert MESSAGES not in client.session
    assert is_signed_in(client)
    assert "is saved." not in text_of(client.get("/classes/"))


def test_what_is_said_of_others_stays(client_of, teacher, pupil):
    client = client_of(teacher)
    edit = reverse("accounts:pupil_edit", args=[pupil.pk])
    client.post(edit, {"name": "Ilse", "extra_time": "0", "own_extra_time": ""})
    forget_messages_with("Fenna")
    assert "Ilse is saved." in text_of(client.get("/classes/"))


def test_sessions_past_their_time_are_looked_into_as_well(client_of, teacher, pupil):
    client = client_of(teacher)
    edit = reverse("accounts:pupil_edit", args=[pupil.pk])
    client.post(edit, {"name": "Ilse", "extra_time": "0", "own_extra_time": ""})
    Session.objects.update(expire_date=timezone.now() - timedelta(days=1))
    forget_messages_with("Ilse")
    assert not [session for session in Session.objects.all() if MESSAGES in session.get_decoded()]
    assert not is_signed_in(client)


def test_no_session_lasts_longer_for_it(client_of, teacher, pupil):
    client = client_of(teacher)
    client.post(reverse("accounts:pupil_edit", args=[pupil.pk]), {"name": "Ilse", "extra_time": "0"})
    soon = timezone.now() + timedelta(minutes=10)
    Session.objects.update(expire_date=soon)
    forget_messages_with("Ilse")
    assert Session.objects.get().expire_date == soon
    client.get("/classes/")
    assert Session.objects.get().expire_date == soon
