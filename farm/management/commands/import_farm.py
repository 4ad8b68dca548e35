"""`manage.py import_farm farm.zip --login marta@example.org`: a farm from its archive."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.errors import BadInput
from farm.models import Login
from farm.models.history import Face
from farm.services import archives


class Command(BaseCommand):
    """Brings a farm, whole or not at all."""

    help = "Make a new farm of an archive that `export_farm` or the pages wrote."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, whose farm it becomes, and as whom."""
        parser.add_argument("file", type=Path, help="the archive")
        parser.add_argument("--login", required=True, metavar="EMAIL", help="who becomes one of its keepers")
        parser.add_argument(
            "--as-member", default="", metavar="NAME", help="which keeper; the first when left out"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Bring. Raises CommandError with the reason when it is refused."""
        login = Login.objects.filter(email__iexact=options["login"]).first()
        if login is None:
            raise CommandError(f"Nobody signs in as {options['login']}. Make the login first.")
        now = datetime.now(UTC)  # noqa: TID251  # commands are a face
        try:
            with options["file"].open("rb") as file:
                farm = archives.bring(
                    file, login=login, as_member=options["as_member"], now=now, face=Face.COMMAND
                )
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from error
        except BadInput as refused:
            raise CommandError(str(refused)) from refused
        self.stdout.write(f"{farm} is here as farm {farm.pk}, kept by {login}.")
