"""The calendars as a Django app."""

from django.apps import AppConfig


class CalendarsConfig(AppConfig):
    """Calendar links and what they publish."""

    name = "calendars"
    verbose_name = "Calendars"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the calendars' background jobs, and what they do when a customer is forgotten."""
        from calendars import forgetting, jobs  # noqa: F401
        from calendars.incoming import jobs as incoming_jobs  # noqa: F401
