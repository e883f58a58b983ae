from django.apps import AppConfig


class BankConfig(AppConfig):
    name = "bank"
