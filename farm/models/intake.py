"""Chicks expected or received from elsewhere, and those who sell them."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch, Sex
from farm.models.farm import check_weekdays
from farm.models.owned import Versioned
from farm.models.programme import ProgrammeVersion


class Supplier(Versioned):
    """Where chicks can be bought. types: programme choices it sells; weekdays: the days chicks come from it.

    minimum: the least chicks of one order. lead_days: from asking to arrival at the earliest. hours_on_the_way: from
    hatch to arrival, usually.
    """

    name = models.CharField(_("name"), max_length=80)
    types = models.JSONField(_("types it sells"), default=list, blank=True)
    weekdays = models.JSONField(_("days chicks come"), default=list, blank=True, validators=[check_weekdays])
    minimum = models.PositiveIntegerField(_("least number of chicks"), default=1)
    lead_days = models.PositiveSmallIntegerField(_("days from ordering to arrival"), default=14)
    hours_on_the_way = models.PositiveSmallIntegerField(
        _("hours from hatch to arrival"), default=36, validators=[MaxValueValidator(96)]
    )
    sexed = models.BooleanField(_("sells sexed chicks"), default=False)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("supplier")
        verbose_name_plural = _("suppliers")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="supplier_name_once_per_farm",
                violation_error_message=_("Another supplier already has this name."),
            ),
            models.CheckConstraint(
                condition=Q(minimum__gte=1, minimum__lte=5000), name="supplier_minimum_sensible"
            ),
            models.CheckConstraint(condition=Q(lead_days__lte=365), name="supplier_lead_sensible"),
            models.CheckConstraint(condition=Q(hours_on_the_way__lte=96), name="supplier_hours_sensible"),
        ]

    def __str__(self) -> str:
        return self.name


class IntakeState(models.TextChoices):
    """How an intake stands."""

    EXPECTED = "expected", _("expected")
    ARRIVED = "arrived", _("arrived")
    CANCELLED = "cancelled", _("cancelled")


class Way(models.TextChoices):
    """How the chicks come."""

    POST = "post", _("by post or carrier")
    FETCHED = "fetched", _("fetched by us")


class Intake(Versioned):
    """An intake. ordered, extras: chicks paid for and given on top. due_on: the day they should come.

    hatched_at: day and hour of the hatch as the box or the seller says. alive, dead, weak: counted on arrival, the
    weak among the alive. batch: the birds expected, then received; None when none came or it was cancelled.
    """

    supplier = models.ForeignKey(
        Supplier, on_delete=models.RESTRICT, null=True, blank=True, related_name="intakes"
    )
    from_whom = models.CharField(_("from"), max_length=80)
    species = models.CharField(_("species"), max_length=16)
    type = models.CharField(_("type"), max_length=24)
    breed = models.CharField(_("breed"), max_length=60, blank=True)
    sex = models.CharField(_("sex"), max_length=12, choices=Sex.choices, default=Sex.STRAIGHT_RUN)
    programme_version = models.ForeignKey(ProgrammeVersion, on_delete=models.RESTRICT, related_name="+")
    ordered = models.PositiveIntegerField(_("chicks ordered"))
    extras = models.PositiveIntegerField(_("extra chicks"), default=0)
    way = models.CharField(_("how they come"), max_length=7, choices=Way.choices, default=Way.POST)
    due_on = models.DateField(_("expected on"))
    hatched_at = models.DateTimeField(_("hatched at"), null=True, blank=True)
    state = models.CharField(max_length=9, choices=IntakeState.choices, default=IntakeState.EXPECTED)
    arrived_at = models.DateTimeField(_("arrived at"), null=True, blank=True)
    alive = models.PositiveIntegerField(_("alive"), null=True, blank=True)
    dead = models.PositiveIntegerField(_("dead on arrival"), null=True, blank=True)
    weak = models.PositiveIntegerField(_("weak"), null=True, blank=True)
    batch = models.OneToOneField(
        Batch, on_delete=models.RESTRICT, null=True, blank=True, related_name="intake"
    )
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("intake")
        verbose_name_plural = _("intakes")
        ordering = ["due_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(sex__in=Sex.values), name="intake_sex_known"),
            models.CheckConstraint(condition=Q(way__in=Way.values), name="intake_way_known"),
            models.CheckConstraint(condition=Q(state__in=IntakeState.values), name="intake_state_known"),
            models.CheckConstraint(
                condition=Q(ordered__gte=1, ordered__lte=5000, extras__lte=5000), name="intake_sensible"
            ),
            models.CheckConstraint(
                condition=Q(
                    state="arrived", arrived_at__isnull=False, alive__isnull=False, dead__isnull=False,
                    weak__isnull=False, weak__lte=F("alive"),
                )
                | (~Q(state="arrived") & Q(arrived_at__isnull=True, alive__isnull=True)),
                name="intake_arrived_is_counted",
            ),
            models.CheckConstraint(
                condition=~Q(state="cancelled") | Q(batch__isnull=True), name="intake_cancelled_has_no_batch"
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.from_whom} {self.due_on}"
