"""An upgrade in a process of its own: a database as the first release left it, with a sitting in it, brought forward.

The rows are written by the models of that time (Django's historical models), so that nothing of today's code fills a
field that was not there. Prints what is found afterwards as JSON.
"""

from __future__ import annotations

import io
import json
from datetime import timedelta
from uuid import UUID

import django

FIRST = [("accounts", "0003_second_factor"), ("bank", "0003_question_filters"), ("assignments", "0003_paper")]


def main() -> None:
    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    rest = [leaf for leaf in executor.loader.graph.leaf_nodes() if leaf[0] not in dict(FIRST)]
    executor.migrate(FIRST + rest)
    apps = executor.loader.project_state(FIRST).apps
    assignment = fill(apps)
    call_command("migrate", verbosity=0)
    history, marks = io.StringIO(), io.StringIO()
    call_command("history", str(assignment), stdout=history)
    call_command("recompute", str(assignment), "--check", stdout=marks, stderr=io.StringIO())
    print(
        json.dumps(
            {"history": [json.loads(line) for line in history.getvalue().splitlines()], "marks": marks.getvalue()}
        )
    )


def fill(apps) -> int:
    from django.utils import timezone

    from geometry.generation import generate

    now = timezone.now()
    [(spec, options)] = generate(count=1, seed=3)
    school = apps.get_model("accounts", "School").objects.create(name="Fernhollow School")
    pupil = apps.get_model("accounts", "User").objects.create(school=school, role="pupil", name="Mina", extra_time=25)
    group = apps.get_model("accounts", "SchoolClass").objects.create(school=school, name="6 Wren", code="KTRW-4827")
    apps.get_model("accounts", "Enrolment").objects.create(school_class=group, pupil=pupil, folded_name="mina")
    question = apps.get_model("bank", "Question").objects.create(school=school, number=1, state="ready")
    version = apps.get_model("bank", "Version").objects.create(
        question=question,
        number=1,
        spec=spec.to_json(),
        options=options.to_json(),
        folds=len(spec.folds),
        punches=len(spec.punches),
        fingerprint="f" * 64,
    )
    question.current = version
    question.save()
    questions = apps.get_model("assignments", "QuestionSet").objects.create(school=school, title="Warm-up")
    assignment = apps.get_model("assignments", "Assignment").objects.create(
        question_set=questions,
        school_class=group,
        title="Warm-up",
        opens_at=now - timedelta(hours=1),
        closes_at=now + timedelta(hours=1),
        allowance=600,
    )
    asked = apps.get_model("assignments", "AssignedQuestion").objects.create(
        assignment=assignment, version=version, position=1
    )
    sitting = apps.get_model("assignments", "Sitting").objects.create(
        assignment=assignment,
        pupil=pupil,
        started_at=now - timedelta(minutes=5),
        allowance=750,
        extra_percent=25,
        paper=[{"question": asked.pk, "order": "CADBE"}],
    )
    for seq, option in enumerate("AB", 1):
        apps.get_model("assignments", "Event").objects.create(
            sitting=sitting,
            question=asked,
            kind="choose",
            option=option,
            client_id=UUID(int=seq),
            epoch=1,
            seq=seq,
            received_at=now - timedelta(minutes=5 - seq),
        )
    return assignment.pk


if __name__ == "__main__":
    main()
