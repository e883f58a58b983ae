from django.apps import AppConfig


class AssignmentsConfig(AppConfig):
    name = "assignments"

    def ready(self) -> None:
        from accounts import holdings
        from assignments.services.pupil_records import HOLDING

        holdings.register("assignments", HOLDING)
