"""The addresses of the pages, one module a group of pages."""

from django.urls import include, path

GROUPS = (
    "today",
    "board",
    "plan",
    "batches",
    "hatching",
    "feed",
    "orders",
    "proposals",
    "housing",
    "stays",
    "quick",
    "rota",
    "people",
    "own_chores",
    "reminders",
    "my",
    "history",
    "settings",
    "leaving",
    "climate",
    "programmes",
    "imports",
    "archives",
    "signin",
    "second_step",
    "help",
)

urlpatterns = [path("", include(f"farm.web.{group}.urls")) for group in GROUPS]
