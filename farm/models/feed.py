"""Feed in the store, its ledger, and days to wait after a medicine."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.farm import check_weekdays
from farm.models.member import Member
from farm.models.owned import Owned, Versioned


class Feed(Versioned):
    """What birds eat, as it is bought. kind: the phase of a programme it serves; species: those it may be fed to.

    bag_kg: of one bag. lead_days: from ordering to delivery. delivery_weekdays: empty for any day. keeps_days: how long
    after milling it may be fed; None: as usual. medicated: it holds a medicine; wait_days: what its label says.
    """

    name = models.CharField(_("name"), max_length=60)
    kind = models.CharField(_("kind"), max_length=24)
    species = models.JSONField(_("fed to"), default=list)
    bag_kg = models.FloatField(_("weight of a bag"))
    lead_days = models.PositiveSmallIntegerField(_("days from ordering to delivery"))
    delivery_weekdays = models.JSONField(
        _("delivery days"), default=list, blank=True, validators=[check_weekdays]
    )
    keeps_days = models.PositiveSmallIntegerField(
        _("days it keeps from milling"),
        null=True,
        blank=True,
        validators=[MinValueValidator(7), MaxValueValidator(365)],
    )
    medicated = models.BooleanField(_("medicated"), default=False)
    wait_days = models.PositiveSmallIntegerField(
        _("days to wait before meat or eggs (from the label)"),
        null=True,
        blank=True,
        validators=[MaxValueValidator(365)],
    )
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta:
        verbose_name = _("feed")
        verbose_name_plural = _("feeds")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "name"],
                name="feed_name_once_per_farm",
                violation_error_message=_("Another feed already has this name."),
            ),
            models.CheckConstraint(condition=Q(bag_kg__gte=0.5, bag_kg__lte=1500), name="feed_bag_sensible"),
            models.CheckConstraint(condition=Q(lead_days__lte=60), name="feed_lead_sensible"),
            models.CheckConstraint(
                condition=Q(keeps_days__isnull=True) | Q(keeps_days__gte=7, keeps_days__lte=365),
                name="feed_keeping_sensible",
            ),
            models.CheckConstraint(
                condition=Q(wait_days__isnull=True) | Q(wait_days__lte=365, medicated=True),
                name="feed_waiting_only_medicated",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class FeedKind(models.TextChoices):
    """What happened to feed in the store."""

    BOUGHT = "bought", _("bought")
    OPENED = "opened", _("bag opened")
    SPOILED = "spoiled", _("spoiled")
    CORRECTION = "correction", _("counted anew")
    REVERSED = "reversed", _("mistake taken back")


class FeedEntry(Owned):
    """One line of a feed's ledger. grams: signed; what is in the store, unopened, is their sum.

    milled_on, price_cents (of all of it): only of what was bought.
    """

    feed = models.ForeignKey(Feed, on_delete=models.CASCADE, related_name="entries")
    kind = models.CharField(_("what happened"), max_length=10, choices=FeedKind.choices)
    grams = models.BigIntegerField()
    day = models.DateField(_("day"))
    milled_on = models.DateField(_("milled on"), null=True, blank=True)
    price_cents = models.PositiveIntegerField(_("price"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    reverses = models.OneToOneField(
        "self", on_delete=models.RESTRICT, null=True, blank=True, related_name="reversed_by"
    )
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    client_key = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        verbose_name = _("line of the feed ledger")
        verbose_name_plural = _("lines of the feed ledger")
        ordering = ["day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="bought", grams__gt=0)
                | Q(kind__in=["opened", "spoiled"], grams__lt=0)
                | (Q(kind="correction") & ~Q(grams=0))
                | (Q(kind="reversed", reverses__isnull=False) & ~Q(grams=0)),
                name="feed_entry_sign_fits_kind",
            ),
            models.CheckConstraint(
                condition=Q(reverses__isnull=True) | Q(kind="reversed"),
                name="feed_entry_reverses_only_reversal",
            ),
            models.CheckConstraint(
                condition=Q(kind="bought") | Q(milled_on__isnull=True, price_cents__isnull=True),
                name="feed_entry_price_only_bought",
            ),
            models.UniqueConstraint(
                fields=["farm", "client_key"], condition=~Q(client_key=""), name="feed_entry_client_key_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.grams:+d} g {self.kind} {self.day}"


class Product(models.TextChoices):
    """What must not be eaten or sold while a batch waits."""

    MEAT = "meat", _("meat")
    EGGS = "eggs", _("eggs")


class WaitingTime(Versioned):
    """Days to wait after a medicine, as the keeper typed them from a label or from the vet. given_on: the last day."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="waits")
    what = models.CharField(_("what was given"), max_length=100)
    given_on = models.DateField(_("last given on"))
    days = models.PositiveSmallIntegerField(_("days to wait"), validators=[MaxValueValidator(365)])
    product = models.CharField(_("before"), max_length=4, choices=Product.choices, default=Product.MEAT)
    note = models.CharField(_("note"), max_length=200, blank=True)

    class Meta:
        verbose_name = _("waiting time")
        verbose_name_plural = _("waiting times")
        ordering = ["given_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(days__lte=365), name="waiting_days_sensible"),
            models.CheckConstraint(condition=Q(product__in=Product.values), name="waiting_product_known"),
        ]

    def __str__(self) -> str:
        return self.what
