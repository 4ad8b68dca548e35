"""What the pages say about letters."""

from __future__ import annotations

from django.conf import settings


def stays_here() -> bool:
    """Say whether letters are kept as files or printed by this server instead of sent."""
    return any(word in settings.EMAIL_BACKEND for word in ("filebased", "console"))
