"""Birds of one hatch day and type kept together on paper."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Versioned
from farm.models.programme import ProgrammeVersion


class BatchSource(models.TextChoices):
    """Where the birds come from."""

    OWN_HATCH = "own_hatch", _("own hatch")
    INTAKE = "intake", _("bought in")


class Sex(models.TextChoices):
    """Sexed or not."""

    STRAIGHT_RUN = "straight_run", _("straight run (not sexed)")
    FEMALE = "sexed_female", _("females")
    MALE = "sexed_male", _("males")


class Batch(Versioned):
    """A batch. Its head count is the sum of its count entries; `arrived_on` is the first day it is on the farm.

    expected: the birds of an egg set or intake not yet hatched or arrived; their number is what is hoped for.
    """

    name = models.CharField(_("name"), max_length=60)
    species = models.CharField(_("species"), max_length=16)
    type = models.CharField(_("type"), max_length=24)
    breed = models.CharField(_("breed"), max_length=60, blank=True)
    sex = models.CharField(_("sex"), max_length=12, choices=Sex.choices, default=Sex.STRAIGHT_RUN)
    source = models.CharField(
        _("where from"), max_length=9, choices=BatchSource.choices, default=BatchSource.INTAKE
    )
    hatch_day = models.DateField(_("hatch day"))
    arrived_on = models.DateField(_("arrives on"))
    leaves_on = models.DateField(_("leaves on"), null=True, blank=True)
    programme_version = models.ForeignKey(ProgrammeVersion, on_delete=models.RESTRICT, related_name="batches")
    expected = models.BooleanField(_("not yet here"), default=False, editable=False)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("batch")
        verbose_name_plural = _("batches")
        ordering = ["hatch_day", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="batch_name_once_per_farm",
                violation_error_message=_("Another batch already has this name."),
            ),
            models.CheckConstraint(condition=Q(sex__in=Sex.values), name="batch_sex_known"),
            models.CheckConstraint(condition=Q(source__in=BatchSource.values), name="batch_source_known"),
            models.CheckConstraint(
                condition=Q(arrived_on__gte=F("hatch_day")),
                name="batch_arrives_after_hatch",
                violation_error_message=_("Birds cannot arrive before they hatch."),
            ),
            models.CheckConstraint(
                condition=Q(leaves_on__isnull=True) | Q(leaves_on__gt=F("arrived_on")),
                name="batch_leaves_after_arrival",
                violation_error_message=_("The last day must be after the first."),
            ),
        ]

    def __str__(self) -> str:
        return self.name
