"""Calendars of others that tell when members are away."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models import Member
from farm.models.owned import Versioned

MOST_HOURS = 24


class Counts(models.TextChoices):
    """Which entries make days away."""

    DAYS = "days", _("entries for whole days")
    HOURS = "hours", _("those, and entries of some hours during a round")


class OuterCalendar(Versioned):
    """A member's own calendar, read for their days away.

    address, seen: sealed; where it is, and the entries last read, as JSON. host: what may be shown of the address.
    least_hours: how long entries with times must be to count. words: one of them must be in a title, no words: any
    title will do; without: none of these may be. on: its days are kept. spans: the days away it tells, as JSON.
    read_on: the day it was last read whole. next_at: not asked again before. failure: why nothing came the last time, a
    key of `words.WHY`; the days stay as they were.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="outer_calendars")
    label = models.CharField(_("name"), max_length=60)
    address = models.TextField(max_length=8000, editable=False)
    host = models.CharField(max_length=120, editable=False)
    counts = models.CharField(_("what counts"), max_length=5, choices=Counts.choices, default=Counts.DAYS)
    least_hours = models.PositiveSmallIntegerField(
        _("hours at least"), default=4, validators=[MinValueValidator(1), MaxValueValidator(MOST_HOURS)]
    )
    words = models.CharField(_("only titles with"), max_length=200, blank=True)
    without = models.CharField(_("no titles with"), max_length=200, blank=True)
    on = models.BooleanField(_("in use"), default=False, editable=False)
    etag = models.CharField(max_length=200, blank=True, editable=False)
    modified = models.CharField(max_length=80, blank=True, editable=False)
    spans = models.JSONField(default=list, blank=True, editable=False)
    seen = models.TextField(blank=True, editable=False)
    read_on = models.DateField(null=True, blank=True, editable=False)
    fetched_at = models.DateTimeField(null=True, blank=True, editable=False)
    next_at = models.DateTimeField(editable=False)
    failed_at = models.DateTimeField(null=True, blank=True, editable=False)
    failure = models.CharField(max_length=20, blank=True, editable=False)
    failures = models.PositiveSmallIntegerField(default=0, editable=False)

    class Meta:
        verbose_name = _("calendar read for days away")
        verbose_name_plural = _("calendars read for days away")
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(counts__in=Counts.values), name="outer_calendar_counts_known"),
            models.CheckConstraint(
                condition=Q(least_hours__gte=1, least_hours__lte=MOST_HOURS),
                name="outer_calendar_hours_of_a_day",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def uid(self) -> str:
        """Return how the days away that it tells name it."""
        return f"calendar {self.pk}"
