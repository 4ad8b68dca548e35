"""What is known of a login's second step."""

from __future__ import annotations

from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from farm.models import Login


def draft(login: Login) -> TOTPDevice | None:
    """Return the app a login is about to add and has not confirmed yet."""
    return TOTPDevice.objects.filter(user=login, confirmed=False).order_by("-pk").first()


def app(login: Login) -> TOTPDevice | None:
    """Return the app whose codes a login gives."""
    return TOTPDevice.objects.filter(user=login, confirmed=True).order_by("-pk").first()


def codes_left(login: Login) -> int:
    """Return how many recovery codes of a login are still good."""
    return StaticToken.objects.filter(device__user=login).count()
