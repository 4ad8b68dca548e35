"""Background jobs: the Celery app, its schedule, and jobs that fetch by id and call one service."""
