"""What was done or skipped of the agenda. The agenda itself is computed; only marks are kept."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.member import Member
from farm.models.owned import Owned


class MarkState(models.TextChoices):
    """Done, or left out on purpose."""

    DONE = "done", _("done")
    SKIPPED = "skipped", _("skipped")


class Round(models.TextChoices):
    """The half-day rounds."""

    MORNING = "morning", _("morning")
    MIDDAY = "midday", _("midday")
    EVENING = "evening", _("evening")


class ChoreMark(Owned):
    """One occurrence (source, due, round) marked once; `title` keeps what it said then, for history and calendars."""

    source = models.CharField(max_length=120)
    due = models.DateField()
    round = models.CharField(max_length=8, choices=Round.choices)
    state = models.CharField(max_length=8, choices=MarkState.choices)
    title = models.CharField(max_length=200)
    note = models.CharField(_("note"), max_length=500, blank=True)
    minutes = models.PositiveSmallIntegerField(default=0)  # what it was reckoned to take: fairness counts it
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    client_key = models.CharField(max_length=64, blank=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name = _("chore mark")
        verbose_name_plural = _("chore marks")
        ordering = ["due", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "source", "due", "round"], name="chore_mark_once"),
            models.UniqueConstraint(
                fields=["farm", "client_key"], condition=~Q(client_key=""), name="chore_mark_client_key_once"
            ),
            models.CheckConstraint(condition=Q(state__in=MarkState.values), name="chore_mark_state_known"),
            models.CheckConstraint(condition=Q(round__in=Round.values), name="chore_mark_round_known"),
        ]

    def __str__(self) -> str:
        return f"{self.title} {self.due} {self.state}"


class MarkPhoto(Owned):
    """A picture that belongs to a mark: a small JPEG, made anew from what was sent."""

    mark = models.OneToOneField(ChoreMark, on_delete=models.CASCADE, related_name="photo")
    jpeg = models.BinaryField()
    at = models.DateTimeField()

    class Meta:
        verbose_name = _("picture")
        verbose_name_plural = _("pictures")

    def __str__(self) -> str:
        return f"{self.mark}"


class SentKey(Owned):
    """A device's own key of something it sent, with what it was answered: sent again, it is answered again.

    Kept for the time in which a phone may still come back with it.
    """

    key = models.CharField(max_length=64)
    answer = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        verbose_name = _("sent key")
        verbose_name_plural = _("sent keys")
        constraints = [models.UniqueConstraint(fields=["farm", "key"], name="sent_key_once")]

    def __str__(self) -> str:
        return self.key
