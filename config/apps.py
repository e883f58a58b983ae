from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "config"
    verbose_name = "Creasemark"

    def ready(self) -> None:
        from config import celery, checks  # noqa: F401  (shared tasks find our Celery; checks register)
