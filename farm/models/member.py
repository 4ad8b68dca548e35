"""The people of a farm, with or without a login, and the links that invite them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Versioned


class Role(models.TextChoices):
    """What a member may do."""

    KEEPER = "keeper", _("keeper (plans and decides)")
    HELPER = "helper", _("helper (does and records)")
    CHILD = "child", _("child (helps beside an adult)")


class Member(Versioned):
    """A person on a farm."""

    login = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="memberships",
        verbose_name=_("login"),
    )
    name = models.CharField(_("name"), max_length=80)
    role = models.CharField(_("role"), max_length=8, choices=Role.choices, default=Role.HELPER)
    # Left members stay: history and counts name them.
    left_on = models.DateField(_("left on"), null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("member")
        verbose_name_plural = _("members")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "login"],
                condition=Q(login__isnull=False, left_on__isnull=True),
                name="member_login_once_per_farm",
            ),
            models.UniqueConstraint(
                fields=["farm", "name"],
                condition=Q(left_on__isnull=True),
                name="member_name_once_per_farm",
                violation_error_message=_("Somebody on this farm already has this name."),
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="member_role_known"),
        ]

    def __str__(self) -> str:
        return self.name


class Invitation(models.Model):
    """A link that gives a login to a member, once. Only the hash of its secret is kept."""

    farm = models.ForeignKey("farm.Farm", on_delete=models.CASCADE, related_name="+")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="invitations")
    token_sha256 = models.CharField(max_length=64, unique=True)
    email = models.EmailField(_("e-mail"), blank=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("invitation")
        verbose_name_plural = _("invitations")

    def __str__(self) -> str:
        return f"{self.member} until {self.expires_at:%Y-%m-%d}"
