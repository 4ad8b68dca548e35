"""`manage.py export_farm 3 --to farm.zip`: everything of a farm in one file."""

from __future__ import annotations

import os
import tempfile
from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.models import Farm
from farm.models.history import Face
from farm.services import archives
from farm.services.actor import system


class Command(BaseCommand):
    """Writes a farm's archive, whole or not at all."""

    help = "Write everything of a farm into one file, which `import_farm` and the pages read."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the farm's number and where to write."""
        parser.add_argument("farm", type=int, help="the farm's number, as check_farm names it")
        parser.add_argument("--to", required=True, type=Path, metavar="FILE", help="the file to write")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write. Raises CommandError for a farm that is not there, and for a file that is."""
        farm = Farm.objects.filter(pk=options["farm"]).first()
        if farm is None:
            raise CommandError(
                f"There is no farm {options['farm']}. `manage.py check_farm` goes through all of them."
            )
        to: Path = options["to"]
        if to.exists():
            raise CommandError(f"{to} is there already. Choose another name, or remove it.")
        # Commands are a face: they learn here what time it is.
        by = system(farm, face=Face.COMMAND, now=datetime.now(UTC))  # noqa: TID251
        try:
            size = _write(by, to)
        except OSError as error:
            raise CommandError(f"{to} cannot be written: {error.strerror}.") from error
        self.stdout.write(
            f"{farm} is in {to} ({size // 1024 + 1} kB). It holds people's names: keep it safe."
        )


def _write(by: Any, to: Path) -> int:
    """Write under another name first, so that nobody takes half a file for a whole one. Returns its size in octets."""
    handle, name = tempfile.mkstemp(prefix=".export-", dir=to.absolute().parent)  # only its owner may read it
    try:
        with os.fdopen(handle, "wb") as out:
            archives.take(by, out)
            out.flush()
            os.fsync(out.fileno())
            size = out.tell()
        os.link(name, to)  # fails when somebody made `to` meanwhile
        return size
    finally:
        Path(name).unlink(missing_ok=True)
