"""`manage.py check_farm`: judge every farm's rows; exit code 1 when one is not sound."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.models import Farm
from farm.queries import soundness


class Command(BaseCommand):
    """Says what cannot be right on a farm, if anything."""

    help = "Check that every farm's records fit together; names what does not."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the numbers of farms; none means all."""
        parser.add_argument("farms", nargs="*", type=int, help="numbers of farms; all when left out")

    def handle(self, *args: Any, **options: Any) -> None:
        """Check and report. Raises CommandError when anything is wrong."""
        rows = Farm.objects.order_by("pk")
        if options["farms"]:
            rows = rows.filter(pk__in=options["farms"])
        found = [f"farm {farm.pk}: {line}" for farm in rows for line in soundness.problems(farm)]
        for line in found:
            self.stderr.write(line)
        if found:
            raise CommandError(f"{len(found)} things do not fit together.")
        self.stdout.write(f"{rows.count()} farms checked: all sound.")
