"""Calendar links, and what has to be remembered so that calendars change only where their content does."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models import Member
from farm.models.owned import Owned


class Scope(models.TextChoices):
    """Whose chores a calendar holds."""

    MINE = "mine", _("what I have to do")
    FARM = "farm", _("the whole farm")


class CalendarLink(Owned):
    """A secret address that opens one calendar to whoever holds it. Only the hash of the secret is kept.

    It belongs to a member and ends with their membership.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="calendar_links")
    scope = models.CharField(_("shows"), max_length=4, choices=Scope.choices, default=Scope.MINE)
    label = models.CharField(_("where it is used"), max_length=60, help_text=_("For example: my phone."))
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    language = models.CharField(_("language"), max_length=16)
    created_at = models.DateTimeField()
    last_used_on = models.DateField(_("last used"), null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(_("switched off"), null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("calendar link")
        verbose_name_plural = _("calendar links")
        ordering = ["created_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(scope__in=Scope.values), name="calendar_link_scope_known"),
        ]

    def __str__(self) -> str:
        return f"{self.label} ({self.member})"


class EntryVersion(Owned):
    """The content version of one entry in one edition of the farm's calendar (`calendars.editions`).

    digest: of the visible content. timing: what a change of raises `sequence`. changed_at: the instant the
    visible content last changed; DTSTAMP. outline: title and times as JSON, to say what was cancelled. day:
    local day it starts.
    """

    edition = models.CharField(max_length=40)
    uid = models.CharField(max_length=255)
    digest = models.CharField(max_length=64)
    timing = models.CharField(max_length=160)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    outline = models.JSONField()
    day = models.DateField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("calendar entry version")
        verbose_name_plural = _("calendar entry versions")
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "edition", "uid"], name="calendar_entry_once_per_edition"
            ),
        ]
        indexes = [models.Index(fields=["farm", "edition", "day"])]

    def __str__(self) -> str:
        return f"{self.uid} #{self.sequence}"


class CalendarBody(Owned):
    """The finished bytes of one edition. `key` says of what they are the calendar; another key means: build
    again.
    """

    edition = models.CharField(max_length=40)
    key = models.CharField(max_length=64)
    etag = models.CharField(max_length=40)
    octets = models.BinaryField()
    zipped = models.BinaryField()
    built_at = models.DateTimeField()

    class Meta:
        verbose_name = _("calendar body")
        verbose_name_plural = _("calendar bodies")
        constraints = [
            models.UniqueConstraint(fields=["farm", "edition"], name="calendar_body_once_per_edition"),
        ]

    def __str__(self) -> str:
        return f"{self.edition} {self.etag}"
