"""The pages as an app of their own, so that templates/web and static/web are found."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Pages, forms, templates and static files; it has no models."""

    name = "farm.web"
    label = "web"
    verbose_name = "Pages"
