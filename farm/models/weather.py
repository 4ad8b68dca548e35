"""A farm's climate, the forecast it last got, and the alerts that weather and birds gave rise to."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.housing import Housing
from farm.models.owned import Owned, Versioned


def check_months(value: object) -> None:
    """Raise ValidationError unless `value` is a list of twelve numbers."""
    if (
        not isinstance(value, list)
        or len(value) != 12
        or any(isinstance(one, bool) or not isinstance(one, int | float) for one in value)
    ):
        raise ValidationError(_("Enter a number for each month."))


class Weather(Versioned):
    """A farm's climate: twelve means and spreads, in °C, of the daily minimum and maximum.

    low_shape, high_shape: how far its days lie from their mean, when learned from a daily record; None: the normal law.
    learned_years: how many years of record it was learned from; 0 when the numbers were entered. confidence: how sure a
    night must be before birds stay out.
    """

    low_mean_c = models.JSONField(_("mean of the nights' lows"), validators=[check_months])
    low_sd_c = models.JSONField(_("their spread"), validators=[check_months])
    high_mean_c = models.JSONField(_("mean of the days' highs"), validators=[check_months])
    high_sd_c = models.JSONField(_("their spread"), validators=[check_months])
    low_shape = models.JSONField(null=True, blank=True)
    high_shape = models.JSONField(null=True, blank=True)
    learned_years = models.FloatField(default=0)
    learned_on = models.DateField(null=True, blank=True)
    confidence = models.FloatField(
        _("how sure a night must be"),
        default=0.9,  # project default (judgement)
        validators=[MinValueValidator(0.5), MaxValueValidator(0.999)],
    )
    use_forecast = models.BooleanField(_("ask a weather service for the coming days"), default=False)

    class Meta:
        verbose_name = _("climate")
        verbose_name_plural = _("climates")
        constraints = [
            models.UniqueConstraint(fields=["farm"], name="weather_once_per_farm"),
            models.CheckConstraint(
                condition=Q(confidence__gte=0.5, confidence__lte=0.999), name="weather_confidence_sensible"
            ),
        ]

    def __str__(self) -> str:
        return str(_("climate"))


class Forecast(Owned):
    """The last good forecast of a farm, and how asking for it went. days: {"2031-05-04": [low, high]} in °C."""

    days = models.JSONField(default=dict)
    made_on = models.DateField(null=True)
    fetched_at = models.DateTimeField(null=True)
    tried_at = models.DateTimeField(null=True)
    retry_at = models.DateTimeField(null=True)
    failures = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = _("forecast")
        verbose_name_plural = _("forecasts")
        constraints = [models.UniqueConstraint(fields=["farm"], name="forecast_once_per_farm")]

    def __str__(self) -> str:
        return str(self.made_on)


class AlertKind(models.TextChoices):
    """What an alert is about."""

    COLD = "cold", _("cold night")
    HOT = "hot", _("hot day")
    LOSSES = "losses", _("more losses than usual")


class Alert(Owned):
    """Something a keeper must hear about. key: what it is about; open once at a time. values: what the words need.

    withdrawn_at: it no longer holds. told_at, taken_back_at: letters about it went out.
    """

    kind = models.CharField(max_length=8, choices=AlertKind.choices)
    key = models.CharField(max_length=80)
    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, null=True, blank=True, related_name="alerts")
    housing = models.ForeignKey(Housing, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    day = models.DateField()
    values = models.JSONField(default=dict)
    raised_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("alert")
        verbose_name_plural = _("alerts")
        ordering = ["day", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "key"], condition=Q(withdrawn_at__isnull=True), name="alert_open_once"
            ),
            models.CheckConstraint(condition=Q(kind__in=AlertKind.values), name="alert_kind_known"),
        ]

    def __str__(self) -> str:
        return self.key
