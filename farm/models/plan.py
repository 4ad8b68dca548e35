"""A computed set of stays, proposed until it is adopted; and how many more birds could come, day by day."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.history import HistoryEntry
from farm.models.member import Member
from farm.models.owned import Owned, Versioned


class PlanKind(models.TextChoices):
    """For the farm as it is, or for a farm with changes that are only tried."""

    PROPOSAL = "proposal", _("proposal")
    TRIAL = "trial", _("trial")


class PlanState(models.TextChoices):
    """How far a plan is. Ready ones can be adopted; the last three are the end."""

    WAITING = "waiting", _("waiting to be worked out")
    SOLVING = "solving", _("being worked out")
    READY = "ready", _("ready")
    ADOPTED = "adopted", _("adopted")
    DROPPED = "dropped", _("dropped")
    FAILED = "failed", _("failed")


class ProofState(models.TextChoices):
    """Whether anything can be better than a plan. PARTS: nothing can, with every batch in as many parts as in it."""

    NONE = "", _("not asked for")
    ASKED = "asked", _("asked for")
    PROVED = "proved", _("proved")
    PARTS = "parts", _("proved for these parts")
    OPEN = "open", _("not proved")


#: States of a plan that somebody may still want.
OPEN = (PlanState.WAITING, PlanState.SOLVING, PlanState.READY)


class Plan(Versioned):
    """A plan: the problem as it was put, the best solution so far, and what it read to be judged stale by.

    code: names it in links within the farm. automatic: made after a loss or the like, not asked for. stamps: the
    versions of the rows it read. claim: the run that works on it now; `beat_at` is its last sign of life and `attempts`
    counts the runs. before: the bill of what was planned then. solution,
    bill: None until there is a first plan. adoption: the history entry that wrote it. proof: whether anything can be
    better, asked for at `proof_asked_at`.
    """

    code = models.CharField(max_length=12, editable=False)
    kind = models.CharField(max_length=8, choices=PlanKind.choices)
    automatic = models.BooleanField(default=False)
    state = models.CharField(max_length=8, choices=PlanState.choices, default=PlanState.WAITING)
    reason = models.CharField(_("what for"), max_length=300, blank=True)
    changes = models.JSONField(default=list)
    problem = models.JSONField()
    problem_digest = models.CharField(max_length=64)
    before = models.JSONField()
    solution = models.JSONField(null=True)
    bill = models.JSONField(null=True)
    bound = models.BigIntegerField(null=True)
    proof = models.CharField(max_length=8, choices=ProofState.choices, default=ProofState.NONE, blank=True)
    proof_asked_at = models.DateTimeField(null=True, blank=True)
    iteration = models.PositiveIntegerField(default=0)
    iterations = models.PositiveIntegerField()
    cancel_asked = models.BooleanField(default=False)
    claim = models.CharField(max_length=32, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    farm_version = models.PositiveBigIntegerField()
    stamps = models.JSONField()
    made_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    login = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField()
    beat_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    adopted_at = models.DateTimeField(null=True)
    adoption = models.OneToOneField(
        HistoryEntry, on_delete=models.SET_NULL, null=True, blank=True, related_name="plan"
    )
    error = models.TextField(blank=True)

    class Meta:
        verbose_name = _("plan")
        verbose_name_plural = _("plans")
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="plan_code_once_per_farm"),
            models.UniqueConstraint(
                fields=["farm"], condition=Q(state="solving"), name="plan_one_solving_per_farm"
            ),
            models.UniqueConstraint(
                fields=["farm"],
                condition=Q(automatic=True, state__in=["waiting", "solving", "ready"]),
                name="plan_one_open_automatic_per_farm",
            ),
            models.CheckConstraint(condition=Q(kind__in=PlanKind.values), name="plan_kind_known"),
            models.CheckConstraint(condition=Q(state__in=PlanState.values), name="plan_state_known"),
            models.CheckConstraint(condition=Q(proof__in=ProofState.values), name="plan_proof_known"),
            # Never half a plan: what can be adopted or was adopted is whole, with its bill.
            models.CheckConstraint(
                condition=~Q(state__in=["ready", "adopted"])
                | Q(solution__isnull=False, bill__isnull=False, bound__isnull=False),
                name="plan_ready_is_whole",
            ),
            models.CheckConstraint(
                condition=Q(solution__isnull=True, bill__isnull=True, bound__isnull=True)
                | Q(solution__isnull=False, bill__isnull=False, bound__isnull=False),
                name="plan_solution_with_bill",
            ),
            models.CheckConstraint(
                condition=(Q(state="solving") & ~Q(claim="")) | (~Q(state="solving") & Q(claim="")),
                name="plan_claimed_while_solving",
            ),
            models.CheckConstraint(
                condition=Q(state="adopted", adopted_at__isnull=False)
                | (~Q(state="adopted") & Q(adopted_at__isnull=True)),
                name="plan_adopted_has_its_time",
            ),
            models.CheckConstraint(condition=~Q(state="failed") | ~Q(error=""), name="plan_failed_says_why"),
            models.CheckConstraint(condition=Q(iterations__gte=1), name="plan_has_a_budget"),
        ]

    def __str__(self) -> str:
        return self.reason or f"{self.get_kind_display()} {self.code}"


class Headroom(Owned):
    """How many birds of a type could arrive on a day.

    type: what a batch can follow, as `queries.programmes.choices` names it. birds: most that fit with nothing else
    moved; binding, binding_day: the housing (its number as text, "" = none suits) and day that stop one more.
    replanned_birds, plan: most after other birds are planned anew, and that plan (a `Solution`); None until it is
    worked out. Binding is no link on purpose: these rows are only what was computed, and must not keep a housing from
    being removed.
    """

    type = models.CharField(max_length=32)
    day = models.DateField()
    birds = models.PositiveIntegerField()
    binding = models.CharField(max_length=20, blank=True)
    binding_day = models.DateField(null=True)
    replanned_birds = models.PositiveIntegerField(null=True)
    plan = models.JSONField(null=True)
    # Whoever works on the replanned value sets it, so that two workers take different days.
    taken_at = models.DateTimeField(null=True)
    problem_digest = models.CharField(max_length=64)
    farm_version = models.PositiveBigIntegerField()

    class Meta:
        verbose_name = _("headroom")
        verbose_name_plural = _("headroom")
        ordering = ["type", "day"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "type", "day"], name="headroom_once_a_day"),
            models.CheckConstraint(
                condition=Q(replanned_birds__isnull=True) | Q(replanned_birds__gte=models.F("birds")),
                name="headroom_replanned_not_less",
            ),
            models.CheckConstraint(
                condition=Q(replanned_birds__isnull=True, plan__isnull=True)
                | Q(replanned_birds__isnull=False),
                name="headroom_plan_only_replanned",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.birds} {self.type} {self.day}"
