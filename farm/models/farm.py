"""The farm: the border no query may cross."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Units(models.TextChoices):
    """The units a farm reads and types; storage is SI always."""

    METRIC = "metric", _("metric (m², °C, kg)")
    US = "us", _("US customary (ft², °F, lb)")


class Weekday(models.IntegerChoices):
    """Monday is 0, as in Python's `date.weekday()`."""

    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


def saturday() -> list[int]:
    """Return the days most households have time to move birds on. Project default (judgement)."""
    return [Weekday.SATURDAY.value]


def check_weekdays(value: object) -> None:
    """Raise ValidationError unless `value` is a list of weekdays, each once."""
    known = set(Weekday.values)
    if (
        not isinstance(value, list)
        or any(type(day) is not int or day not in known for day in value)
        or len(set(value)) < len(value)
    ):
        raise ValidationError(_("Choose days of the week."))


class Farm(models.Model):
    """One household's or hatchery's birds, housing and people."""

    name = models.CharField(_("name"), max_length=80)
    time_zone = models.CharField(_("time zone"), max_length=64, help_text=_("For example Europe/Berlin."))
    units = models.CharField(_("units"), max_length=8, choices=Units.choices, default=Units.METRIC)
    first_weekday = models.PositiveSmallIntegerField(
        _("first day of the week"), choices=Weekday.choices, default=Weekday.MONDAY
    )
    latitude = models.FloatField(
        _("latitude"), null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude = models.FloatField(
        _("longitude"), null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    morning_at = models.TimeField(_("morning round"), default="07:00")
    midday_at = models.TimeField(_("midday round"), default="12:30")
    evening_at = models.TimeField(_("evening round"), default="18:30")
    move_weekdays = models.JSONField(
        _("days that suit for moving birds"), default=saturday, blank=True, validators=[check_weekdays]
    )
    is_demo = models.BooleanField(default=False, editable=False)
    # Closed since a while; from this local day on it may be removed. None: open.
    closing_on = models.DateField(null=True, blank=True, editable=False)
    # Rises with every write to the farm: calendars and pages tell by it whether anything changed.
    version = models.PositiveBigIntegerField(default=0, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = _("farm")
        verbose_name_plural = _("farms")
        constraints = [
            models.CheckConstraint(condition=Q(units__in=["metric", "us"]), name="farm_units_known"),
            models.CheckConstraint(condition=Q(first_weekday__lte=6), name="farm_first_weekday_known"),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True) | Q(latitude__gte=-90, latitude__lte=90),
                name="farm_latitude_on_earth",
            ),
            models.CheckConstraint(
                condition=Q(longitude__isnull=True) | Q(longitude__gte=-180, longitude__lte=180),
                name="farm_longitude_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.name
