"""`manage.py second_step_off EMAIL`: for whoever lost both telephone and recovery codes."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.models import Login
from farm.services import second_step


class Command(BaseCommand):
    """Switches the second step of one login off; whoever runs it can read the database anyway."""

    help = "Switch off the second step of a login whose telephone and recovery codes are lost."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the e-mail address."""
        parser.add_argument("email")

    def handle(self, *args: Any, **options: Any) -> None:
        """Switch it off and say so; an error when there is no such login or nothing to switch off."""
        login = Login.objects.filter(email__iexact=options["email"]).first()
        if login is None:
            raise CommandError("There is no such login.")
        if login.second_step_at is None:
            raise CommandError("Its second step is off already.")
        second_step.switch_off(login)
        self.stdout.write(f"{login} signs in with the password alone, and should switch it on again.")
