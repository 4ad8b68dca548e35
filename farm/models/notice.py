"""What people are told: over which channels, when, what is to be sent, and how sending went."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.farm import Weekday
from farm.models.member import Member
from farm.models.owned import Owned, Versioned


class ChannelKind(models.TextChoices):
    """How a message travels."""

    EMAIL = "email", _("e-mail")
    SERVICE = "service", _("a push service")
    PUSH = "push", _("this browser")


class Channel(Owned):
    """One way to reach a member. address: sealed, opened only to send. label: what may be shown of it.

    failed_at, failure: why the last message did not go out; empty once one did.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="channels")
    kind = models.CharField(max_length=8, choices=ChannelKind.choices)
    label = models.CharField(_("name"), max_length=120)
    address = models.TextField(max_length=8000)
    on = models.BooleanField(_("in use"), default=True)
    worked_at = models.DateTimeField(null=True, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = _("channel")
        verbose_name_plural = _("channels")
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=ChannelKind.values), name="channel_kind_known")
        ]

    def __str__(self) -> str:
        return self.label


class ReminderWishes(Versioned):
    """What a member wants to be told, and when, in the farm's time. A time of None: not at all.

    changed: when their rounds change. missed: when birds wait because somebody else missed a chore. quiet_from,
    quiet_to: nothing is sent in between, it comes afterwards.
    """

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="wishes")
    morning_at = models.TimeField(_("before the morning round"), null=True, blank=True)
    midday_at = models.TimeField(_("before the midday round"), null=True, blank=True)
    evening_at = models.TimeField(_("before the evening round"), null=True, blank=True)
    outlook_weekday = models.PositiveSmallIntegerField(
        _("week ahead, on"), choices=Weekday.choices, null=True, blank=True, validators=[MaxValueValidator(6)]
    )
    outlook_at = models.TimeField(_("at"), default="18:00")
    changed = models.BooleanField(_("when my rounds change"), default=True)
    missed = models.BooleanField(_("when birds wait for a chore that was missed"), default=True)
    quiet_from = models.TimeField(_("quiet from"), null=True, blank=True)
    quiet_to = models.TimeField(_("until"), null=True, blank=True)

    class Meta:
        verbose_name = _("reminders")
        verbose_name_plural = _("reminders")
        constraints = [
            models.CheckConstraint(
                condition=Q(outlook_weekday__isnull=True) | Q(outlook_weekday__lte=6),
                name="wishes_weekday_known",
            ),
            models.CheckConstraint(
                condition=Q(quiet_from__isnull=True, quiet_to__isnull=True)
                | Q(quiet_from__isnull=False, quiet_to__isnull=False),
                name="wishes_quiet_both_or_none",
                violation_error_message=_("Enter both times of the quiet hours, or neither."),
            ),
        ]

    def __str__(self) -> str:
        return str(self.member)


class NoticeKind(models.TextChoices):
    """What a message is about."""

    ROUND = "round", _("a round")
    MISSED = "missed", _("a missed chore")
    CHANGED = "changed", _("changed rounds")
    OUTLOOK = "outlook", _("the week ahead")
    SWAP = "swap", _("a swap")
    ALERT = "alert", _("an alert")
    TEST = "test", _("a test")


class Notice(Owned):
    """One message to one member. (member, kind, key) names it: it is made once however often it is asked for.

    due_at: when it may go out. expires_at: from when on it is of no use.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=8, choices=NoticeKind.choices)
    key = models.CharField(max_length=80)
    subject = models.CharField(max_length=200)
    body = models.TextField(max_length=8000)
    url = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    due_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    class Meta:
        verbose_name = _("message")
        verbose_name_plural = _("messages")
        ordering = ["-due_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "member", "kind", "key"], name="notice_once"),
            models.CheckConstraint(condition=Q(kind__in=NoticeKind.values), name="notice_kind_known"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"


class DeliveryState(models.TextChoices):
    """How the sending of a message over one channel stands."""

    WAITING = "waiting", _("waiting")
    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    DEAD = "dead", _("not sent")
    LATE = "late", _("too late to be of use")


class Delivery(Owned):
    """A message over one channel. claimed_at: since when a worker has it; tries: how often one began.

    A worker that dies while sending leaves it claimed: after a while it is sent once more, marked "again".
    """

    notice = models.ForeignKey(Notice, on_delete=models.CASCADE, related_name="deliveries")
    channel = models.ForeignKey(Channel, on_delete=models.CASCADE, related_name="deliveries")
    state = models.CharField(max_length=8, choices=DeliveryState.choices, default=DeliveryState.WAITING)
    tries = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = _("delivery")
        verbose_name_plural = _("deliveries")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["notice", "channel"], name="delivery_once"),
            models.CheckConstraint(condition=Q(state__in=DeliveryState.values), name="delivery_state_known"),
        ]
        indexes = [models.Index(fields=["state", "next_try_at"], name="delivery_to_send")]

    def __str__(self) -> str:
        return f"{self.notice} {self.state}"


class ReminderClock(Owned):
    """When a farm has to be looked at next for reminders; a farm without one is looked at soon."""

    next_at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name = _("reminder clock")
        verbose_name_plural = _("reminder clocks")
        constraints = [models.UniqueConstraint(fields=["farm"], name="reminder_clock_once_per_farm")]

    def __str__(self) -> str:
        return str(self.next_at)
