"""Calendar links, and what has to be remembered so that calendars change only where their content does."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from calendars.choices import (
    AHEAD_DAYS,
    LEAST_AHEAD_DAYS,
    MOST_AHEAD_DAYS,
    MOST_ALARM_MINUTES,
    MOST_PAST_DAYS,
    PAST_DAYS,
    Rounds,
    Scope,
)
from calendars.dav.models import AppPassword as AppPassword  # Django finds models here
from calendars.dav.models import TodoList as TodoList
from calendars.dav.models import TodoVersion as TodoVersion
from calendars.incoming.models import OuterCalendar as OuterCalendar  # Django finds models here
from farm.models import Member
from farm.models.owned import Owned


class CalendarLink(Owned):
    """A secret address that opens one calendar to whoever holds it. Only the hash of the secret is kept.

    It belongs to a member and ends with their membership. about: number of the housing or batch it shows. It is no
    foreign key: taken off the farm, the thing still is what its entries were about, and they are published as
    cancelled. zone: IANA name, "" for the farm's. alarm_minutes: how long before; None for no alarms. last_client: the
    family of programs that asked last (`calendars.clients`), nothing more of it is kept.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="calendar_links")
    scope = models.CharField(_("shows"), max_length=8, choices=Scope.choices, default=Scope.MINE)
    about = models.PositiveBigIntegerField(null=True, blank=True)
    label = models.CharField(_("where it is used"), max_length=60, help_text=_("For example: my phone."))
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    language = models.CharField(_("language"), max_length=16)
    zone = models.CharField(_("time zone"), max_length=64, blank=True)
    alarm_minutes = models.PositiveSmallIntegerField(
        _("alarm"), null=True, blank=True, validators=[MaxValueValidator(MOST_ALARM_MINUTES)]
    )
    rounds = models.CharField(_("rounds"), max_length=5, choices=Rounds.choices, default=Rounds.TIMED)
    back_days = models.PositiveSmallIntegerField(
        _("days back"), default=PAST_DAYS, validators=[MaxValueValidator(MOST_PAST_DAYS)]
    )
    ahead_days = models.PositiveSmallIntegerField(
        _("days ahead"),
        default=AHEAD_DAYS,
        validators=[MinValueValidator(LEAST_AHEAD_DAYS), MaxValueValidator(MOST_AHEAD_DAYS)],
    )
    created_at = models.DateTimeField()
    last_used_on = models.DateField(_("last used"), null=True, blank=True, editable=False)
    last_client = models.CharField(max_length=10, blank=True, editable=False)
    revoked_at = models.DateTimeField(_("switched off"), null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("calendar link")
        verbose_name_plural = _("calendar links")
        ordering = ["created_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(scope__in=Scope.values), name="calendar_link_scope_known"),
            models.CheckConstraint(
                condition=Q(scope__in=[Scope.HOUSING, Scope.BATCH], about__isnull=False)
                | (~Q(scope__in=[Scope.HOUSING, Scope.BATCH]) & Q(about__isnull=True)),
                name="calendar_link_about_one_thing",
            ),
            models.CheckConstraint(condition=Q(rounds__in=Rounds.values), name="calendar_link_rounds_known"),
            models.CheckConstraint(
                condition=Q(back_days__lte=MOST_PAST_DAYS)
                & Q(ahead_days__gte=LEAST_AHEAD_DAYS, ahead_days__lte=MOST_AHEAD_DAYS),
                name="calendar_link_days_bounded",
            ),
            models.CheckConstraint(
                condition=Q(alarm_minutes__isnull=True) | Q(alarm_minutes__lte=MOST_ALARM_MINUTES),
                name="calendar_link_alarm_bounded",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} ({self.member})"


class EntryVersion(Owned):
    """The content version of one entry in one edition of the farm's calendar (`calendars.editions`).

    digest: of the visible content. timing: what a change of raises `sequence`. changed_at: the instant the
    visible content last changed; DTSTAMP. outline: title and times as JSON, to say what was cancelled. day:
    local day it starts.
    """

    edition = models.CharField(max_length=60)
    uid = models.CharField(max_length=255)
    digest = models.CharField(max_length=64)
    timing = models.CharField(max_length=160)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    outline = models.JSONField()
    day = models.DateField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("calendar entry version")
        verbose_name_plural = _("calendar entry versions")
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "edition", "uid"], name="calendar_entry_once_per_edition"
            ),
        ]
        indexes = [models.Index(fields=["farm", "edition", "day"])]

    def __str__(self) -> str:
        return f"{self.uid} #{self.sequence}"


class CalendarBody(Owned):
    """The finished bytes of one edition. `key` says of what they are the calendar; another key means: build
    again.
    """

    edition = models.CharField(max_length=60)
    key = models.CharField(max_length=64)
    etag = models.CharField(max_length=40)
    octets = models.BinaryField()
    zipped = models.BinaryField()
    built_at = models.DateTimeField()

    class Meta:
        verbose_name = _("calendar body")
        verbose_name_plural = _("calendar bodies")
        constraints = [
            models.UniqueConstraint(fields=["farm", "edition"], name="calendar_body_once_per_edition"),
        ]

    def __str__(self) -> str:
        return f"{self.edition} {self.etag}"
