"""The jobs as a Django app, so that whoever loads Django can send one."""

from django.apps import AppConfig


class TasksConfig(AppConfig):
    """Loads the Celery app and the jobs once the models are ready."""

    name = "tasks"
    verbose_name = "Background jobs"

    def ready(self) -> None:
        """Make the Celery app the current one, register every job by name, and hear what is to be told."""
        from farm.services.reminders import hooks  # noqa: F401
        from tasks import app, backups, farewells, jobs, reminders, schedule, stopping, watching  # noqa: F401
