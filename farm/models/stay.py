"""Part of a batch in one housing over half-open days."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.housing import Housing
from farm.models.owned import Versioned


class Stay(Versioned):
    """`birds` is how many start the stay; losses on the way come off by the ledger. `end` None: until further notice.

    one_batch repeats the housing's rule, so that the database can hold the no-overlap constraint on it.
    """

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="stays")
    housing = models.ForeignKey(Housing, on_delete=models.RESTRICT, related_name="stays")
    birds = models.PositiveIntegerField(_("birds"))
    start = models.DateField(_("from"))
    end = models.DateField(_("until (not including)"), null=True, blank=True)
    actual = models.BooleanField(_("has happened"), default=False)
    pinned = models.BooleanField(_("pinned"), default=False)
    one_batch = models.BooleanField(default=False, editable=False)
    override_reason = models.CharField(
        _("reason for going against the programme"), max_length=200, blank=True
    )

    class Meta:
        verbose_name = _("stay")
        verbose_name_plural = _("stays")
        ordering = ["start", "pk"]
        indexes = [models.Index(fields=["farm", "start"]), models.Index(fields=["housing", "start"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__isnull=True) | Q(end__gt=F("start")),
                name="stay_ends_after_start",
                violation_error_message=_("A stay must end after it starts."),
            ),
            models.CheckConstraint(condition=Q(birds__gte=1), name="stay_has_birds"),
        ]

    def __str__(self) -> str:
        return f"{self.batch} in {self.housing} from {self.start}"
