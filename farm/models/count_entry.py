"""One line of a batch's ledger. Lines are added, never edited; a mistake is reversed by another line."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.housing import Housing
from farm.models.member import Member
from farm.models.owned import Owned


class CountKind(models.TextChoices):
    """What happened to the birds."""

    ARRIVED = "arrived", _("arrived")
    HATCHED = "hatched", _("hatched")
    FOUND = "found", _("found")
    DIED = "died", _("died")
    CULLED = "culled", _("culled")
    SOLD = "sold", _("sold")
    PROCESSED = "processed", _("processed")
    KEPT_BACK = "kept_back", _("kept back")
    REVERSED = "reversed", _("mistake taken back")


GAINS = frozenset({CountKind.ARRIVED, CountKind.HATCHED, CountKind.FOUND})
DEATHS = frozenset({CountKind.DIED, CountKind.CULLED})


class CountEntry(Owned):
    """`birds` is signed: gains above 0, losses below. `housing` says where, when it matters."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="count_entries")
    kind = models.CharField(_("what happened"), max_length=10, choices=CountKind.choices)
    birds = models.IntegerField(_("birds"))
    day = models.DateField(_("day"))
    housing = models.ForeignKey(Housing, on_delete=models.RESTRICT, null=True, blank=True, related_name="+")
    note = models.CharField(_("note"), max_length=200, blank=True)
    # Why birds went although days to wait after a medicine were not over.
    override_reason = models.CharField(_("reason for not waiting"), max_length=200, blank=True)
    reverses = models.OneToOneField(
        "self", on_delete=models.RESTRICT, null=True, blank=True, related_name="reversed_by"
    )
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    # A device's own key for an entry made offline: the same entry sent twice is one entry.
    client_key = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        verbose_name = _("count entry")
        verbose_name_plural = _("count entries")
        ordering = ["day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=sorted(GAINS), birds__gt=0)
                | Q(kind__in=["died", "culled", "sold", "processed", "kept_back"], birds__lt=0)
                | (Q(kind="reversed", reverses__isnull=False) & ~Q(birds=0)),
                name="count_entry_sign_fits_kind",
            ),
            models.CheckConstraint(
                condition=Q(reverses__isnull=True) | Q(kind="reversed"),
                name="count_entry_reverses_only_reversal",
            ),
            models.UniqueConstraint(
                fields=["farm", "client_key"], condition=~Q(client_key=""), name="count_entry_client_key_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.birds:+d} {self.kind} {self.day}"
