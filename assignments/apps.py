from django.apps import AppConfig


class AssignmentsConfig(AppConfig):
    name = "assignments"

    def ready(self) -> None:
        from accounts import holdings
        from assignments.bank_filters import FACILITY, UNUSED
        from assignments.services.pupil_records import HOLDING
        from bank import outside

        holdings.register("assignments", HOLDING)
        outside.register(UNUSED)
        outside.register(FACILITY)
