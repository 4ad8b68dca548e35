"""What a person signs in with. Belonging to a farm is a `Member`'s matter; one login may have several."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

#: Django's own, so that a session from before there was a second step goes on.
SESSION_SALT = "django.contrib.auth.models.AbstractBaseUser.get_session_auth_hash"


class LoginManager(BaseUserManager["Login"]):
    """Makes logins by e-mail address, compared without case."""

    def create_user(self, email: str, password: str | None = None, **extra: Any) -> Login:
        """Return a new login. `password` None makes one that cannot sign in yet."""
        login = self.model(email=self.normalize_email(email).strip(), **extra)
        login.set_password(password)
        login.save(using=self._db)
        return login

    def create_superuser(self, email: str, password: str | None = None, **extra: Any) -> Login:
        """Return a new login for support, with the admin open to it."""
        return self.create_user(email, password, is_staff=True, is_superuser=True, **extra)

    def get_by_natural_key(self, username: str | None) -> Login:
        """Return the login of an e-mail address, whatever its case."""
        return self.get(email__iexact=username)


class Login(AbstractBaseUser, PermissionsMixin):
    """An e-mail address and a password."""

    email = models.EmailField(_("e-mail"), max_length=254)
    name = models.CharField(_("name"), max_length=80, blank=True)
    language = models.CharField(_("language"), max_length=16, blank=True)
    is_staff = models.BooleanField(_("support staff"), default=False)
    is_active = models.BooleanField(_("may sign in"), default=True)
    created_at = models.DateTimeField(auto_now_add=True)
    # Since when signing in asks for a code as well; services.second_step alone writes it.
    second_step_at = models.DateTimeField(_("second step since"), null=True, blank=True, editable=False)
    # From this instant on it may be removed; signing in before takes that back. None: it stays.
    leaving_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = LoginManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        verbose_name = _("login")
        verbose_name_plural = _("logins")
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="login_email_unique",
                violation_error_message=_("This e-mail address already has a login. Sign in instead."),
            )
        ]

    def __str__(self) -> str:
        return self.email

    def get_session_auth_hash(self) -> str:
        """Return what every session of the login carries: with another password or second step they all end."""
        return self._session_hash(None)

    def get_session_auth_fallback_hash(self) -> Iterator[str]:
        """Yield the same under each key before this one."""
        for secret in settings.SECRET_KEY_FALLBACKS:
            yield self._session_hash(secret)

    def _session_hash(self, secret: str | None) -> str:
        since = "" if self.second_step_at is None else f" {self.second_step_at.timestamp():.6f}"
        return salted_hmac(SESSION_SALT, self.password + since, secret, algorithm="sha256").hexdigest()
