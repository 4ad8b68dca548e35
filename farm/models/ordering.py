"""How this farm plans backwards from its orders, what was proposed, and how the odds of each line went."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.farm import check_weekdays
from farm.models.history import HistoryEntry
from farm.models.member import Member
from farm.models.order import OrderLine
from farm.models.owned import Owned, Versioned


class OrderingRules(Versioned):
    """A farm's own rules; empty weekdays allow every day. Costs weigh what a proposal is cheap by."""

    confidence = models.FloatField(
        _("how sure an order should be met"),
        default=0.9,  # project default (judgement)
        validators=[MinValueValidator(0.5), MaxValueValidator(0.99)],
    )
    set_weekdays = models.JSONField(
        _("days for setting eggs"), default=list, blank=True, validators=[check_weekdays]
    )
    hatch_weekdays = models.JSONField(
        _("days for a hatch"), default=list, blank=True, validators=[check_weekdays]
    )
    # What one bird unmet, one more batch and one bird too many weigh: project default (judgement).
    unmet_cost = models.PositiveIntegerField(_("a bird not delivered"), default=1000)
    batch_cost = models.PositiveIntegerField(_("one more batch"), default=100)
    spare_cost = models.PositiveIntegerField(_("a bird nobody ordered"), default=3)

    class Meta:
        verbose_name = _("rules for proposals")
        verbose_name_plural = _("rules for proposals")
        constraints = [
            models.UniqueConstraint(fields=["farm"], name="ordering_rules_once_per_farm"),
            models.CheckConstraint(
                condition=Q(confidence__gte=0.5, confidence__lte=0.99), name="ordering_confidence_sensible"
            ),
            models.CheckConstraint(
                condition=Q(unmet_cost__lte=1_000_000, batch_cost__lte=1_000_000, spare_cost__lte=1_000_000),
                name="ordering_costs_sensible",
            ),
        ]

    def __str__(self) -> str:
        return str(self.confidence)


class SettingProposal(Owned):
    """What was proposed to set and to buy. content: the proposal as it was shown; adoption: what wrote it."""

    code = models.CharField(max_length=12, editable=False)
    content = models.JSONField()
    farm_version = models.PositiveBigIntegerField()
    made_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    made_at = models.DateTimeField()
    adoption = models.OneToOneField(
        HistoryEntry, on_delete=models.SET_NULL, null=True, blank=True, related_name="setting_proposal"
    )

    class Meta:
        verbose_name = _("proposal")
        verbose_name_plural = _("proposals")
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="setting_proposal_code_once_per_farm")
        ]

    def __str__(self) -> str:
        return self.code


class LineOdds(Owned):
    """How a line stood on a day: birds allotted and expected, the chance that all are met, the band of 8 in 10."""

    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, related_name="odds")
    day = models.DateField()
    allotted = models.PositiveIntegerField()
    expected = models.FloatField()
    chance = models.FloatField()
    low = models.PositiveIntegerField()
    high = models.PositiveIntegerField()

    class Meta:
        verbose_name = _("odds of a line")
        verbose_name_plural = _("odds of lines")
        ordering = ["day"]
        constraints = [
            models.UniqueConstraint(fields=["line", "day"], name="line_odds_once_a_day"),
            models.CheckConstraint(condition=Q(chance__gte=0, chance__lte=1), name="line_odds_a_chance"),
            models.CheckConstraint(condition=Q(high__gte=models.F("low")), name="line_odds_band_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.chance:.2f}"
