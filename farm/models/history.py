"""Who changed what, when and from where, with enough to take it back."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from farm.models.member import Member
from farm.models.owned import Owned


class Face(models.TextChoices):
    """Where a write came from."""

    PAGE = "page", _("page")
    API = "api", _("API")
    CALENDAR = "calendar", _("calendar")
    JOB = "job", _("job")
    COMMAND = "command", _("command")


class HistoryEntry(Owned):
    """One service call that changed something. `noun` and `noun_id` are what the keeper would look for it under."""

    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    login = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    face = models.CharField(max_length=8, choices=Face.choices)
    verb = models.CharField(max_length=40)
    noun = models.CharField(max_length=40)
    noun_id = models.BigIntegerField(null=True)
    summary = models.CharField(_("what"), max_length=300)
    undoes = models.OneToOneField(
        "self", on_delete=models.RESTRICT, null=True, blank=True, related_name="undone_by"
    )

    class Meta:
        verbose_name = _("history entry")
        verbose_name_plural = _("history")
        ordering = ["-pk"]
        indexes = [models.Index(fields=["farm", "noun", "noun_id"])]

    def __str__(self) -> str:
        return self.summary


class Change(models.Model):
    """One row written by a history entry: its fields before (None: it was made) and after (None: it was removed)."""

    entry = models.ForeignKey(HistoryEntry, on_delete=models.CASCADE, related_name="changes")
    model = models.CharField(max_length=40)
    row = models.BigIntegerField()
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)

    class Meta:
        verbose_name = _("change")
        verbose_name_plural = _("changes")
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.model} {self.row}"
