"""What someone saw."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.housing import Housing
from farm.models.member import Member
from farm.models.owned import Owned


class ObservationKind(models.TextChoices):
    """What was looked at. Values are °C, g (mean of the birds weighed) and kg."""

    TEMPERATURE = "temperature", _("temperature")
    BEHAVIOUR = "behaviour", _("behaviour")
    WEIGHT = "weight", _("weight")
    FEED_LEFT = "feed_left", _("feed left")
    NOTE = "note", _("note")


class Observation(Owned):
    """A reading, a behaviour word (trade key), a weighing or a note, at an instant."""

    batch = models.ForeignKey(
        Batch, on_delete=models.CASCADE, null=True, blank=True, related_name="observations"
    )
    housing = models.ForeignKey(
        Housing, on_delete=models.RESTRICT, null=True, blank=True, related_name="observations"
    )
    kind = models.CharField(_("what"), max_length=12, choices=ObservationKind.choices)
    at = models.DateTimeField(_("when"))
    value = models.FloatField(_("value"), null=True, blank=True)
    birds = models.PositiveSmallIntegerField(_("birds weighed"), null=True, blank=True)
    word = models.CharField(_("behaviour"), max_length=24, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    client_key = models.CharField(max_length=64, blank=True)

    class Meta:
        verbose_name = _("observation")
        verbose_name_plural = _("observations")
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(batch__isnull=False) | Q(housing__isnull=False),
                name="observation_is_of_something",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["temperature", "weight", "feed_left"], value__isnull=False)
                | (Q(kind="behaviour") & ~Q(word=""))
                | (Q(kind="note") & ~Q(note="")),
                name="observation_says_something",
            ),
            models.UniqueConstraint(
                fields=["farm", "client_key"], condition=~Q(client_key=""), name="observation_client_key_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.at:%Y-%m-%d %H:%M}"
