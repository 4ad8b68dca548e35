"""The API as a Django app."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """Tokens, what programs have sent, and what programs are told."""

    name = "api"
    verbose_name = "API"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the background jobs, and hear of every write somebody is told of and of names to forget."""
        from api import forgetting, jobs  # noqa: F401
        from api.webhooks import hearing  # noqa: F401
