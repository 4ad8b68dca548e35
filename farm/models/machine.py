"""A machine for eggs: an incubator, or a setter and a hatcher apart."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Versioned


class MachineWork(models.TextChoices):
    """What eggs do in it."""

    BOTH = "both", _("incubator: eggs are set and hatch in it")
    SETTER = "setter", _("setter: eggs move to a hatcher for the last days")
    HATCHER = "hatcher", _("hatcher: eggs come for the last days")


class Air(models.TextChoices):
    """Whether a fan moves the air; the right temperature depends on it."""

    FORCED = "forced", _("with a fan (forced air)")
    STILL = "still", _("without a fan (still air)")


class Machine(Versioned):
    """A machine and how many eggs of each size fill it; 0 means that it does not take them.

    `species` is a list of species keys; empty allows any. turns_itself: nobody has to turn the eggs by hand.
    """

    name = models.CharField(_("name"), max_length=60)
    # Those with the same words are done in one go by one person.
    whereabouts = models.CharField(_("where it stands"), max_length=40, blank=True)
    does = models.CharField(_("what it does"), max_length=8, choices=MachineWork.choices)
    air = models.CharField(_("air"), max_length=6, choices=Air.choices, default=Air.FORCED)
    small_eggs = models.PositiveIntegerField(_("quail eggs"), default=0)
    medium_eggs = models.PositiveIntegerField(_("eggs the size of a hen's"), default=0)
    large_eggs = models.PositiveIntegerField(_("duck or turkey eggs"), default=0)
    very_large_eggs = models.PositiveIntegerField(_("goose eggs"), default=0)
    species = models.JSONField(_("species allowed"), default=list, blank=True)
    turns_itself = models.BooleanField(_("turns the eggs by itself"), default=True)
    cleaning_days = models.PositiveSmallIntegerField(_("days for cleaning after a hatch"), default=1)
    in_service_from = models.DateField(_("in use from"), null=True, blank=True)
    in_service_to = models.DateField(_("in use until (not including)"), null=True, blank=True)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("machine")
        verbose_name_plural = _("machines")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="machine_name_once_per_farm",
                violation_error_message=_("Another machine already has this name."),
            ),
            models.CheckConstraint(condition=Q(does__in=MachineWork.values), name="machine_work_known"),
            models.CheckConstraint(condition=Q(air__in=Air.values), name="machine_air_known"),
            models.CheckConstraint(
                condition=Q(
                    small_eggs__lte=100_000,
                    medium_eggs__lte=100_000,
                    large_eggs__lte=100_000,
                    very_large_eggs__lte=100_000,
                ),
                name="machine_eggs_sensible",
            ),
            models.CheckConstraint(condition=Q(cleaning_days__lte=30), name="machine_cleaning_sensible"),
            models.CheckConstraint(
                condition=Q(in_service_from__isnull=True)
                | Q(in_service_to__isnull=True)
                | Q(in_service_to__gt=F("in_service_from")),
                name="machine_service_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return self.name
