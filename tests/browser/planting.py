"""The demo farm for many tests: planted once by the services, which takes seconds, then laid down again row by row."""

from __future__ import annotations

from datetime import UTC, datetime

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, models, transaction

from calendars import services as calendars
from farm.services import demo as demo_farm
from tests.browser import pages

APPS = ("farm", "calendars", "api")


class Planting:
    """Keeps the rows of the planted demo, because each test leaves the database empty behind it."""

    def __init__(self) -> None:
        self.demo: demo_farm.Planted | None = None
        self.rows: list[tuple[type[models.Model], list[models.Model]]] = []
        self.addresses: dict[str, str] = {}
        self._pages: dict[str, str] = {}

    def again(self) -> demo_farm.Planted:
        """Plant the demo farm in an empty database and return it."""
        if self.demo is None:
            self.demo = demo_farm.plant(now=datetime.now(UTC))
            calendars.make_link(
                self.demo.by, member_id=self.demo.keeper.pk, label="Kitchen tablet", scope="farm"
            )
            self.addresses = pages.addresses(self.demo)  # makes an invitation, which is to be kept too
            self.rows = [(model, list(model._base_manager.order_by("pk"))) for model in _parents_first()]
        else:
            self._lay_down()
        return self.demo

    def pages(self) -> dict[str, str]:
        """Return name to address of every page the demo's keeper can reach; the same every time."""
        if not self._pages:
            assert self.demo is not None, "plant it first"
            self._pages = pages.pages(self.demo, self.addresses)
        return self._pages

    def _lay_down(self) -> None:
        with transaction.atomic():
            for model, rows in self.rows:
                model._base_manager.bulk_create(rows)
        with connection.cursor() as cursor:
            for line in connection.ops.sequence_reset_sql(no_style(), [model for model, _rows in self.rows]):
                cursor.execute(line)


def _parents_first() -> list[type[models.Model]]:
    """Return our models, each after those it points to: the database looks up whose farm a row's parents are on."""
    waiting = [model for name in APPS for model in apps.get_app_config(name).get_models()]
    found: list[type[models.Model]] = []
    while waiting:
        ready = [model for model in waiting if not _parents(model) & set(waiting)]
        found += ready
        waiting = [model for model in waiting if model not in ready]
    return found


def _parents(model: type[models.Model]) -> set[type[models.Model]]:
    return {field.related_model for field in model._meta.concrete_fields if field.is_relation} - {model}
