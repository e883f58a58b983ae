from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "config"
    verbose_name = "Creasemark"

    def ready(self) -> None:
        from config import celery  # noqa: F401  (binds shared tasks to our Celery application)
