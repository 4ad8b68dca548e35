"""What a person signs in with. Belonging to a farm is a `Member`'s matter; one login may have several."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _


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
