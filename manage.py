#!/usr/bin/env python3
"""The project's command line: `python manage.py help` lists the commands."""

import os
import sys

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line


def main() -> None:
    """Run one command; a wrong setting is told in one line, without a traceback."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
    try:
        _ = settings.INSTALLED_APPS
    except ImproperlyConfigured as error:
        sys.exit(f"featherdays: {error}")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
