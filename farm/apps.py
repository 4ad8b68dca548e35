"""The farm as a Django app: its models, services, commands and checks."""

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class FarmConfig(AppConfig):
    """Everything true whether anyone looks or not."""

    name = "farm"
    label = "farm"
    verbose_name = "Farm"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the project's own system checks, and the database's guards after each migration."""
        from farm import checks  # noqa: F401

        post_migrate.connect(_install_guards, sender=self)


def _install_guards(*, using: str, **_: Any) -> None:
    from django.db import connections

    from farm.models import guards

    guards.install(connections[using])
