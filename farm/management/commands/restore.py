"""`manage.py restore FILE`: a backup takes the place of what is there; exit code 1 when it may not."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connections

from farm.management import ground
from farm.services import backups
from farm.services.backups import BackupTrouble
from farm.web import clock


class Command(BaseCommand):
    """Checks a backup, puts aside what is there, restores, migrates, and judges every farm."""

    help = "Restore a backup. Stop the server first; what is replaced is put aside, not deleted."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file and --force."""
        parser.add_argument("file", type=Path, help="a file made by `manage.py backup`")
        parser.add_argument(
            "--force", action="store_true", help="also where there are farms or logins already"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore. Raises CommandError."""
        file: Path = options["file"]
        if not file.is_file():
            raise CommandError(f"There is no file {file}.")
        with ground.alone(Path(settings.DATA)):
            try:
                said = backups.restore(file, force=options["force"], now=clock.now())
            except (BackupTrouble, OSError) as trouble:
                raise CommandError(str(trouble)) from trouble
            for line in said:
                self.stdout.write(line)
            connections.close_all()
            call_command("migrate", interactive=False, verbosity=0)
            call_command("check_farm", stdout=self.stdout, stderr=self.stderr)
        self.stdout.write(f"{file.name} is restored. Start the server again.")
