"""Logins begin: with a farm of their own, or through an invitation. Signing in itself is Django's."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Farm, Login, Member
from farm.models.history import Face
from farm.services import farms, members
from farm.services.writing import validate


def start_farm(
    *, email: str, password: str, keeper: str, name: str, time_zone: str, now: datetime, **fields: Any
) -> tuple[Login, Farm]:
    """Make a login and its first farm, both or neither. Raises BadInput by field, `email` and `password` too."""
    with transaction.atomic():
        login = _make(email=email, password=password, name=keeper)
        farm, _keeper = farms.start(
            login=login, keeper=keeper, name=name, time_zone=time_zone, now=now, face=Face.PAGE, **fields
        )
    return login, farm


def join(secret: str, *, email: str, password: str, now: datetime) -> tuple[Login, Member]:
    """Make a login for the invited member, both or neither. Raises NotFound for a dead link, BadInput by field."""
    with transaction.atomic():
        name = members.invited(secret, now=now).member.name
        login = _make(email=email, password=password, name=name)
        member = members.accept(secret, login=login, now=now)
    return login, member


def set_language(login: Login, language: str) -> None:
    """Set the language a login reads; empty follows the browser. Raises BadInput for one that is not offered."""
    if language and language not in dict(settings.LANGUAGES):
        raise BadInput.at("language", _("This language is not offered."))
    login.language = language
    login.save(update_fields=["language"])


def _make(*, email: str, password: str, name: str) -> Login:
    login = Login(email=Login.objects.normalize_email(email.strip()), name=name.strip())
    try:
        validate_password(password, login)
    except ValidationError as refused:
        raise BadInput({"password": refused.messages}) from refused
    login.set_password(password)
    try:
        validate(login)
    except BadInput as refused:
        # The uniqueness is of Lower(email), so Django reports it for the whole row; it belongs to the one field.
        raise BadInput({at or "email": said for at, said in refused.fields.items()}) from refused
    login.save()
    return login
