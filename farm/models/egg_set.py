"""Eggs put into a machine on one day, and what became of them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.machine import Machine
from farm.models.member import Member
from farm.models.owned import Owned, Versioned
from farm.models.programme import ProgrammeVersion


class EggSetState(models.TextChoices):
    """How an egg set stands; an open one whose day is still to come is planned."""

    OPEN = "open", _("planned or in the machine")
    HATCHED = "hatched", _("hatched")
    CANCELLED = "cancelled", _("cancelled")


class EggSet(Versioned):
    """An egg set. set_at: the instant; set_on: the farm's day of it, incubation day 0.

    stored_days: age of the oldest egg when set. hatcher: where the last days are spent, the setter again in an
    incubator. batch: the birds expected of it, then hatched; None when nothing hatched or it was cancelled.
    """

    name = models.CharField(_("name"), max_length=60)
    species = models.CharField(_("species"), max_length=16)
    type = models.CharField(_("type"), max_length=24)
    breed = models.CharField(_("breed"), max_length=60, blank=True)
    programme_version = models.ForeignKey(ProgrammeVersion, on_delete=models.RESTRICT, related_name="+")
    eggs = models.PositiveIntegerField(_("eggs"))
    stored_days = models.PositiveSmallIntegerField(_("days stored (oldest egg)"), default=0)
    storage = models.CharField(_("how they were stored"), max_length=200, blank=True)
    origin = models.CharField(_("where the eggs come from"), max_length=100, blank=True)
    setter = models.ForeignKey(
        Machine, on_delete=models.RESTRICT, related_name="sets", verbose_name=_("machine")
    )
    hatcher = models.ForeignKey(
        Machine, on_delete=models.RESTRICT, related_name="hatches", verbose_name=_("hatcher")
    )
    set_at = models.DateTimeField(_("set at"))
    set_on = models.DateField(_("set on"))
    state = models.CharField(max_length=9, choices=EggSetState.choices, default=EggSetState.OPEN)
    hatched_on = models.DateField(_("hatched on"), null=True, blank=True)
    batch = models.OneToOneField(
        Batch, on_delete=models.RESTRICT, null=True, blank=True, related_name="egg_set"
    )
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("egg set")
        verbose_name_plural = _("egg sets")
        ordering = ["set_on", "pk"]
        indexes = [models.Index(fields=["farm", "set_on"])]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="egg_set_name_once_per_farm",
                violation_error_message=_("Another egg set already has this name."),
            ),
            models.CheckConstraint(condition=Q(eggs__gte=1, eggs__lte=10_000), name="egg_set_eggs_sensible"),
            models.CheckConstraint(condition=Q(stored_days__lte=35), name="egg_set_storage_sensible"),
            models.CheckConstraint(condition=Q(state__in=EggSetState.values), name="egg_set_state_known"),
            models.CheckConstraint(
                condition=Q(state="hatched", hatched_on__isnull=False)
                | (~Q(state="hatched") & Q(hatched_on__isnull=True)),
                name="egg_set_hatched_has_its_day",
            ),
            models.CheckConstraint(
                condition=~Q(state="cancelled") | Q(batch__isnull=True), name="egg_set_cancelled_has_no_batch"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class EggKind(models.TextChoices):
    """What became of eggs. Culled chicks are among the hatched; every other egg is in one kind only."""

    CLEAR = "clear", _("clear (no germ)")
    EARLY_DEAD = "early_dead", _("early dead (blood ring)")
    QUITTER = "quitter", _("quitters (died later)")
    BROKEN = "broken", _("broken or taken out")
    PIPPED = "pipped", _("pipped, not out")
    HATCHED = "hatched", _("hatched")
    CULLED = "culled", _("culled at the hatch")


class EggEntry(Owned):
    """One line of what candling or the hatch showed. The database keeps the sum within the eggs set."""

    egg_set = models.ForeignKey(EggSet, on_delete=models.CASCADE, related_name="entries")
    kind = models.CharField(_("what was found"), max_length=10, choices=EggKind.choices)
    eggs = models.PositiveIntegerField(_("eggs"))
    day = models.DateField(_("day"))
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    # A device's own key for an entry made offline: the same entry sent twice is one entry.
    client_key = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        verbose_name = _("egg entry")
        verbose_name_plural = _("egg entries")
        ordering = ["day", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=EggKind.values), name="egg_entry_kind_known"),
            models.CheckConstraint(condition=Q(eggs__gte=1), name="egg_entry_has_eggs"),
            models.UniqueConstraint(
                fields=["farm", "client_key"], condition=~Q(client_key=""), name="egg_entry_client_key_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.eggs} {self.kind} {self.day}"
