"""Who does which chores: the rota as it stands, what people decided about it, and chores put off."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.chore_mark import Round
from farm.models.member import Member
from farm.models.owned import Owned, Versioned


class RotaRules(Versioned):
    """How a farm shares its work. A farm without these has no rota: everybody sees what they may do.

    weeks: how far ahead chores are given out. fair_days: the days over which shares are evened out, those just past
    included. missed_after: minutes after a round's time until another adult hears that birds still wait.
    """

    weeks = models.PositiveSmallIntegerField(
        _("weeks ahead"), default=4, validators=[MinValueValidator(1), MaxValueValidator(8)]
    )
    fair_days = models.PositiveSmallIntegerField(
        _("shares are evened out over"),
        default=42,
        validators=[MinValueValidator(14), MaxValueValidator(182)],
    )
    missed_after = models.PositiveSmallIntegerField(
        _("minutes until a missed chore is passed on"),
        default=90,  # project default (judgement)
        validators=[MinValueValidator(15), MaxValueValidator(600)],
    )
    # The farm's version and day the rota was last worked out for.
    made_of = models.CharField(max_length=80, blank=True, editable=False)
    unfilled = models.JSONField(default=list, editable=False)

    class Meta:
        verbose_name = _("rules of the rota")
        verbose_name_plural = _("rules of the rota")
        constraints = [
            models.UniqueConstraint(fields=["farm"], name="rota_rules_once_per_farm"),
            models.CheckConstraint(condition=Q(weeks__gte=1, weeks__lte=8), name="rota_weeks_sensible"),
            models.CheckConstraint(
                condition=Q(fair_days__gte=14, fair_days__lte=182), name="rota_fair_days_sensible"
            ),
            models.CheckConstraint(
                condition=Q(missed_after__gte=15, missed_after__lte=600), name="rota_missed_after_sensible"
            ),
        ]

    def __str__(self) -> str:
        return str(self._meta.verbose_name)


class Occurrence(Owned):
    """A row about one occurrence (source, due, round) of the agenda."""

    source = models.CharField(max_length=120)
    due = models.DateField()
    round = models.CharField(max_length=8, choices=Round.choices)

    class Meta:
        abstract = True

    @property
    def occurrence(self) -> tuple[str, object, str]:
        """Return what identifies the occurrence."""
        return self.source, self.due, self.round


class Assignment(Occurrence):
    """Who does an occurrence by the rota: worked out, and replaced when it is worked out anew. seat: 0, or 1 for the
    second person. day: when it is done, which differs from `due` once it was put off."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="assignments")
    seat = models.PositiveSmallIntegerField(default=0)
    day = models.DateField()
    minutes = models.PositiveSmallIntegerField(default=0)

    class Meta:
        verbose_name = _("assignment")
        verbose_name_plural = _("assignments")
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "source", "due", "round", "seat"], name="assignment_seat_once"
            ),
            models.UniqueConstraint(
                fields=["farm", "source", "due", "round", "member"], name="assignment_member_once"
            ),
            models.CheckConstraint(condition=Q(seat__lte=1), name="assignment_two_seats"),
            models.CheckConstraint(condition=Q(round__in=Round.values), name="assignment_round_known"),
        ]
        indexes = [models.Index(fields=["farm", "day"], name="assignment_by_day")]

    def __str__(self) -> str:
        return f"{self.source} {self.due} {self.round}: {self.member_id}"


class Pin(Occurrence):
    """A person's decision that a member does an occurrence; the rota works around it."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="pins")

    class Meta:
        verbose_name = _("decision who does it")
        verbose_name_plural = _("decisions who does it")
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "source", "due", "round", "member"], name="pin_member_once"
            ),
            models.CheckConstraint(condition=Q(round__in=Round.values), name="pin_round_known"),
        ]

    def __str__(self) -> str:
        return f"{self.source} {self.due} {self.round}: {self.member_id}"


class Postponement(Occurrence):
    """An occurrence put off to another day and round; it stays the same occurrence."""

    to_due = models.DateField()
    to_round = models.CharField(max_length=8, choices=Round.choices)
    reason = models.CharField(_("reason"), max_length=200, blank=True)
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        verbose_name = _("postponement")
        verbose_name_plural = _("postponements")
        constraints = [
            models.UniqueConstraint(fields=["farm", "source", "due", "round"], name="postponement_once"),
            models.CheckConstraint(
                condition=Q(round__in=Round.values, to_round__in=Round.values),
                name="postponement_round_known",
            ),
            models.CheckConstraint(condition=Q(to_due__gte=models.F("due")), name="postponement_not_earlier"),
        ]

    def __str__(self) -> str:
        return f"{self.source} {self.due} → {self.to_due}"


class SwapState(models.TextChoices):
    """How an offered swap stands."""

    OFFERED = "offered", _("offered")
    ACCEPTED = "accepted", _("accepted")
    DECLINED = "declined", _("declined")
    WITHDRAWN = "withdrawn", _("withdrawn")


class Swap(Owned):
    """A member's offer to another: you do my round, I do yours. take_day None: nothing is asked in return."""

    giver = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="swaps_offered")
    taker = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="swaps_received")
    give_day = models.DateField()
    give_round = models.CharField(max_length=8, choices=Round.choices)
    take_day = models.DateField(null=True, blank=True)
    take_round = models.CharField(max_length=8, choices=Round.choices, blank=True)
    state = models.CharField(max_length=9, choices=SwapState.choices, default=SwapState.OFFERED)
    offered_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("swap")
        verbose_name_plural = _("swaps")
        ordering = ["give_day", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=SwapState.values), name="swap_state_known"),
            models.CheckConstraint(condition=~Q(giver=models.F("taker")), name="swap_between_two"),
            models.UniqueConstraint(
                fields=["farm", "giver", "taker", "give_day", "give_round"],
                condition=Q(state="offered"),
                name="swap_offered_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.giver_id} → {self.taker_id}: {self.give_day} {self.give_round}"
