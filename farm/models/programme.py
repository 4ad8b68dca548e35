"""A farm's rearing programmes: built-in ones as taken over, and the keeper's own copies, version by version."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Owned, Versioned


class RearingProgramme(Versioned):
    """A named recipe of a farm. `built_in` is the trade key it came from; `edited` says that a keeper changed it."""

    name = models.CharField(_("name"), max_length=80)
    species = models.CharField(max_length=16)
    type = models.CharField(max_length=24)
    built_in = models.CharField(max_length=32)
    edited = models.BooleanField(default=False)

    class Meta:
        verbose_name = _("rearing programme")
        verbose_name_plural = _("rearing programmes")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="programme_name_once_per_farm",
                violation_error_message=_("Another programme already has this name."),
            ),
            models.UniqueConstraint(
                fields=["farm", "built_in"],
                condition=Q(edited=False),
                name="programme_built_in_once_per_farm",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ProgrammeVersion(Owned):
    """One version of a programme. Never changed: batches keep the version they started on."""

    programme = models.ForeignKey(RearingProgramme, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    note = models.CharField(_("what changed"), max_length=200, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        verbose_name = _("programme version")
        verbose_name_plural = _("programme versions")
        ordering = ["programme", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["programme", "number"], name="programme_version_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="programme_version_number_from_1"),
        ]

    def __str__(self) -> str:
        return f"{self.programme} v{self.number}"
