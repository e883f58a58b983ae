"""The Celery application, and what runs by the clock. With no REDIS_URL every task runs in process.

Nothing depends on the clock's tasks being in time: each finds in the database what is due, and another run of
it does what the last one missed.
"""

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
app = Celery("creasemark")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.set_default()

app.conf.beat_schedule = {
    # Pictures whose task died with its worker, or was never queued because Redis was away.
    "missing pictures": {
        "task": "bank.tasks.sweep_pictures",
        "schedule": 60,
        "options": {"expires": 55},
    },
    "records past their time": {"task": "accounts.tasks.end_records", "schedule": crontab(hour="2", minute="47")},
    # Files to print bear names and keys, and are kept for a day. A new order takes the old ones away as well.
    "old files to print": {"task": "assignments.tasks.forget_prints", "schedule": crontab(minute="41")},
    # Figures of questions that the bank is searched by; pages that show figures count them at once.
    "facilities": {"task": "assignments.tasks.count_facilities", "schedule": crontab(minute="23")},
    "old batches": {"task": "bank.tasks.forget_batches", "schedule": crontab(hour="2", minute="29")},
    "old files of questions": {"task": "bank.tasks.forget_imports", "schedule": crontab(minute="43")},
    "ended sessions": {"task": "config.tasks.forget_ended_sessions", "schedule": crontab(hour="3", minute="17")},
}
