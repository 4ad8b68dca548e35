"""The jobs as a Django app, so that whoever loads Django can send one."""

from django.apps import AppConfig


class TasksConfig(AppConfig):
    """Loads the Celery app and the jobs once the models are ready."""

    name = "tasks"
    verbose_name = "Background jobs"

    def ready(self) -> None:
        """Make the Celery app the current one and register every job by name."""
        from tasks import app, jobs, schedule  # noqa: F401
