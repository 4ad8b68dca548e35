"""One bounded place for birds: its room, heat and rules."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Versioned


class HousingKind(models.TextChoices):
    """What sort of place it is."""

    BROODER = "brooder", _("brooder")
    PEN = "pen", _("pen")
    COOP = "coop", _("coop")
    RUN = "run", _("run")
    PADDOCK = "paddock", _("paddock")


class Light(models.TextChoices):
    """How much of its light a housing gets from lamps."""

    NONE = "", _("no light programme")
    OPEN = "open", _("windows, and lamps before sunrise")
    CLOSED = "closed", _("no daylight, lamps alone")


class Housing(Versioned):
    """A brooder, pen, coop, run or paddock; machines for eggs are records of their own.

    feeder_cm and drinker_cm are edge lengths (both sides of a trough count); 0 means not recorded. `species` is a list
    of species keys; empty allows any. `code` is printed on the housing's card.
    """

    name = models.CharField(_("name"), max_length=60)
    # Those with the same words are done in one go by one person.
    whereabouts = models.CharField(_("where it stands"), max_length=40, blank=True)
    kind = models.CharField(
        _("kind"), max_length=10, choices=HousingKind.choices, default=HousingKind.BROODER
    )
    area_m2 = models.FloatField(_("floor area"))
    feeder_cm = models.FloatField(_("feeder edge"), default=0)
    drinker_cm = models.FloatField(_("drinker edge"), default=0)
    heated = models.BooleanField(_("has heat"), default=False)
    indoor = models.BooleanField(_("indoors"), default=True)
    species = models.JSONField(_("species allowed"), default=list, blank=True)
    one_batch = models.BooleanField(_("one batch at a time"), default=False)
    max_age_gap_days = models.PositiveSmallIntegerField(_("largest age gap when shared"), default=7)
    rest_days = models.PositiveSmallIntegerField(_("rest days after clean-out"), default=14)
    in_service_from = models.DateField(_("in use from"), null=True, blank=True)
    in_service_to = models.DateField(_("in use until (not including)"), null=True, blank=True)
    # How much warmer than outdoors a night is at bird height; None: as usual for its kind.
    supplement_c = models.FloatField(
        _("warmer than outdoors at night by"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(40)],
    )
    light = models.CharField(_("light"), max_length=6, choices=Light.choices, default=Light.NONE, blank=True)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)
    code = models.CharField(max_length=16, unique=True, editable=False)
    position = models.PositiveSmallIntegerField(_("place on the board"), default=0)

    class Meta:
        verbose_name = _("housing")
        verbose_name_plural = _("housing")
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="housing_name_once_per_farm",
                violation_error_message=_("Another housing already has this name."),
            ),
            models.CheckConstraint(condition=Q(kind__in=HousingKind.values), name="housing_kind_known"),
            models.CheckConstraint(
                condition=Q(area_m2__gt=0, area_m2__lte=5000), name="housing_area_sensible"
            ),
            models.CheckConstraint(
                condition=Q(feeder_cm__gte=0, drinker_cm__gte=0), name="housing_edges_not_negative"
            ),
            models.CheckConstraint(condition=Q(light__in=Light.values), name="housing_light_known"),
            models.CheckConstraint(
                condition=Q(supplement_c__isnull=True) | Q(supplement_c__gte=0, supplement_c__lte=40),
                name="housing_supplement_sensible",
            ),
            models.CheckConstraint(condition=Q(rest_days__lte=365), name="housing_rest_days_sensible"),
            models.CheckConstraint(condition=Q(max_age_gap_days__lte=60), name="housing_age_gap_sensible"),
            models.CheckConstraint(
                condition=Q(in_service_from__isnull=True)
                | Q(in_service_to__isnull=True)
                | Q(in_service_to__gt=F("in_service_from")),
                name="housing_service_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return self.name
