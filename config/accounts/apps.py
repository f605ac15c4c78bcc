"""App configuration."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Who gets in, from which device, and until when."""

    name = "config.accounts"
    label = "accounts"
    verbose_name = "Accounts"
