"""Pupils already signed in, each with a sitting begun, for a load; prints their cookies and options as JSON.

python -m tests.bench.signed_in 240
"""

from __future__ import annotations

import io
import json
import sys

import django


def make(pupils: int) -> list[dict]:
    from django.conf import settings
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.core.management import call_command
    from django.http import HttpRequest

    from accounts.models import User
    from assignments.models import Assignment
    from assignments.papers import option_names, places
    from assignments.services.clock import database_now
    from assignments.services.sittings import start_sitting
    from assignments.views.devices import device_of

    said = io.StringIO()
    call_command("practice_class", "--pupils", str(pupils), "--questions", "6", "--seconds", "7200", stdout=said)
    call_command("sweep")
    assignment = Assignment.objects.get(pk=json.loads(said.getvalue())["assignment"])
    engine = __import__(settings.SESSION_ENGINE, fromlist=["SessionStore"])
    told = []
    for pupil in User.objects.filter(enrolments__school_class=assignment.school_class):
        session = engine.SessionStore()
        session[SESSION_KEY], session[HASH_SESSION_KEY] = str(pupil.pk), pupil.get_session_auth_hash()
        session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        session.create()
        request = HttpRequest()
        request.session = session
        sitting = start_sitting(assignment=assignment, pupil=pupil, device=device_of(request), at=database_now())
        names = [option_names(sitting.pk, place) for place in places(sitting.paper)]
        told.append({"session": session.session_key, "sitting": sitting.pk, "options": names})
    return told


if __name__ == "__main__":
    django.setup()
    print(json.dumps(make(int(sys.argv[1]))))
