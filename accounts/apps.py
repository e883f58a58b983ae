from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "accounts"

    def ready(self) -> None:
        from accounts import holdings
        from accounts.services.pupil_records import HOLDING

        holdings.register("accounts", HOLDING)
