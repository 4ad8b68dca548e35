"""`manage.py demo`: plant the invented demo farm, dated from today, in place of an earlier one."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand

from farm.services import demo


class Command(BaseCommand):
    """Plants the demo farm and prints how to get in."""

    help = "Plant the invented demo farm, dated from today; an earlier demo farm is replaced."

    def handle(self, *args: Any, **options: Any) -> None:
        """Plant, then print address, login and calendar link."""
        # Commands are a face: they learn here what time it is.
        from calendars import services as calendars

        planted = demo.plant(now=datetime.now(UTC))  # noqa: TID251
        _link, secret = calendars.make_link(
            planted.by, member_id=planted.keeper.pk, scope="farm", label="Alder Hollow, all"
        )
        self.stdout.write(f"Sign in as      {planted.by.login}")
        self.stdout.write(f"with password   {planted.password}")
        self.stdout.write(f"Calendar link   {settings.ADDRESS}/c/{secret}.ics")
