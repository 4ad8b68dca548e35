"""`manage.py backup`: one checked file with everything; exit code 1 when it could not be made."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.services import backups
from farm.services.backups import Backup, BackupTrouble, Keeping
from farm.web import clock


class Command(BaseCommand):
    """Makes a backup while everything runs on, and removes those that are not kept any longer."""

    help = "Back up database, pictures and keys into one file that is checked after writing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the folder, how many are kept, and --list."""
        usual = Keeping()
        parser.add_argument("--to", type=Path, help="the folder; FEATHERDAYS_BACKUPS when left out")
        parser.add_argument("--daily", type=int, default=usual.daily, help="days of which the last is kept")
        parser.add_argument(
            "--weekly", type=int, default=usual.weekly, help="weeks of which the last is kept"
        )
        parser.add_argument(
            "--monthly", type=int, default=usual.monthly, help="months of which the last is kept"
        )
        parser.add_argument("--keep-all", action="store_true", help="remove none")
        parser.add_argument("--list", action="store_true", help="only list the backups that are there")
        parser.add_argument("--check", action="store_true", help="only read the newest backup again")

    def handle(self, *args: Any, **options: Any) -> None:
        """Back up, list or check. Raises CommandError."""
        folder, now = options["to"] or backups.folder_or_none(), clock.now()
        if folder is None:
            raise CommandError("Name a folder: --to FOLDER, or set FEATHERDAYS_BACKUPS.")
        try:
            if options["list"]:
                self.tell(folder, now)
            elif options["check"]:
                self.check_newest(folder)
            else:
                self.make(folder, now, options)
        except BackupTrouble as trouble:
            raise CommandError(str(trouble)) from trouble

    def make(self, folder: Path, now: datetime, options: dict[str, Any]) -> None:
        """Make one and remove what is not kept."""
        made = backups.make(folder, now=now)
        self.stdout.write(f"{made.path} written and checked, {_size(made)}.")
        self.stdout.write(
            "It holds secrets: keep it where nobody else can read it, and a copy on another machine."
        )
        if not options["keep_all"]:
            keeping = Keeping(options["daily"], options["weekly"], options["monthly"])
            for path in backups.rotate(folder, keeping):
                self.stdout.write(f"{path.name} removed.")

    def tell(self, folder: Path, now: datetime) -> None:
        """List what is there, newest first."""
        found = backups.found(folder)
        for one in found:
            hours = one.age(now).total_seconds() / 3600
            age = f"{hours:.0f} hours" if hours < 48 else f"{hours / 24:.0f} days"
            self.stdout.write(f"{one.path.name}  {_size(one)}  {age} old")
        if not found:
            self.stdout.write(f"No backups in {folder}.")

    def check_newest(self, folder: Path) -> None:
        """Read the newest one again."""
        newest = next(iter(backups.found(folder)), None)
        if newest is None:
            raise CommandError(f"No backups in {folder}.")
        about = backups.verify(newest.path)
        self.stdout.write(f"{newest.path.name} is whole: {sum(about.tables.values())} rows.")


def _size(backup: Backup) -> str:
    return f"{backup.size / 1_000_000:.1f} MB"
