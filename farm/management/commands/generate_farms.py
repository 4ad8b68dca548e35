"""`manage.py generate_farms N`: invented farms for measuring and trying out, the same for the same seed."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError
from datetime import UTC, datetime
from typing import Any

from django.core.management import BaseCommand, CommandError

from farm.errors import BadInput
from farm.services import synthetic


class Command(BaseCommand):
    """Writes invented farms and says how far it is."""

    help = "Write many invented farms, with people, housing, batches, ledgers, orders and ticks. All of it made up."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take how many, the seed and what the farms are to be like."""
        parser.add_argument("farms", type=int, help="how many farms")
        parser.add_argument(
            "--seed", type=int, default=1, help="another number makes up other farms (default 1)"
        )
        parser.add_argument(
            "--batches", type=_span, default=(2, 5), help="batches of a farm, fewest-most (default 2-5)"
        )
        parser.add_argument(
            "--password", default="", help="one password for all their keepers; without it nobody can sign in"
        )
        parser.add_argument("--beside-real-farms", action="store_true", help="also where real farms are")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the farms, one line of progress at a time. Raises CommandError when that is refused."""
        wanted = synthetic.Wanted(
            farms=options["farms"],
            seed=options["seed"],
            batches=options["batches"],
            password=options["password"],
            beside_real=options["beside_real_farms"],
        )
        # Commands are a face: they learn here what time it is.
        try:
            for made in synthetic.generate(wanted, now=datetime.now(UTC)):  # noqa: TID251
                self.stdout.write(f"{made} of {wanted.farms} farms")
                self.stdout.flush()
        except BadInput as refused:
            lines = [f"{name}: {text}" for name, texts in refused.fields.items() for text in texts]
            hint = "\n--beside-real-farms writes them there too." if "beside_real" in refused.fields else ""
            raise CommandError("\n".join(lines) + hint) from refused
        if wanted.password:
            self.stdout.write(f"Sign in as {synthetic.LOGIN.format(seed=wanted.seed, number=1)}, and so on.")


def _span(text: str) -> tuple[int, int]:
    low, _dash, high = text.partition("-")
    try:
        return int(low), int(high or low)
    except ValueError:
        raise ArgumentTypeError("write it like 2-5") from None
