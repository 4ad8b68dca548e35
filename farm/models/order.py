"""Birds promised to a customer, and the birds handed over."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from farm.models.batch import Batch
from farm.models.count_entry import CountEntry
from farm.models.member import Member
from farm.models.owned import Owned, Versioned
from farm.models.programme import RearingProgramme


class OrderStatus(models.TextChoices):
    """How an order stands. Quotes hold no birds; confirmed orders do."""

    QUOTE = "quote", _("quote")
    CONFIRMED = "confirmed", _("confirmed")
    FILLED = "filled", _("filled")
    CANCELLED = "cancelled", _("cancelled")


class WantedSex(models.TextChoices):
    """Which birds a customer wants."""

    ANY = "any", _("as hatched (either)")
    FEMALE = "female", _("females")
    MALE = "male", _("males")


class Priority(models.IntegerChoices):
    """Who gets birds first when there are too few; within one, the earlier date does."""

    FIRST = 1, _("first")
    USUAL = 2, _("usual")
    LAST = 3, _("if any are left")


class Wants(Versioned):
    """What is wanted: how many birds of which type and sex, and how old, in days, when handed over."""

    programme = models.ForeignKey(
        RearingProgramme, on_delete=models.RESTRICT, related_name="+", verbose_name=_("type")
    )
    breed = models.CharField(_("breed"), max_length=60, blank=True)
    sex = models.CharField(_("sex"), max_length=6, choices=WantedSex.choices, default=WantedSex.ANY)
    birds = models.PositiveIntegerField(
        _("birds"), validators=[MinValueValidator(1), MaxValueValidator(5000)]
    )
    age_from_days = models.PositiveSmallIntegerField(_("youngest"), validators=[MaxValueValidator(400)])
    age_to_days = models.PositiveSmallIntegerField(_("oldest"), validators=[MaxValueValidator(400)])

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(birds__gte=1, birds__lte=5000), name="%(class)s_birds_sensible"
            ),
            models.CheckConstraint(condition=Q(sex__in=WantedSex.values), name="%(class)s_sex_known"),
            models.CheckConstraint(
                condition=Q(age_to_days__gte=F("age_from_days"), age_to_days__lte=400),
                name="%(class)s_ages_in_order",
                violation_error_message=_("The oldest age must not be below the youngest."),
            ),
        ]


class OrderSeries(Wants):
    """An order that repeats: every so many weeks from the first day to the last, each open for window_days."""

    customer = models.CharField(_("customer (a name or a code)"), max_length=80)
    priority = models.PositiveSmallIntegerField(
        _("priority"), choices=Priority.choices, default=Priority.USUAL
    )
    every_weeks = models.PositiveSmallIntegerField(
        _("every so many weeks"), validators=[MinValueValidator(1), MaxValueValidator(52)]
    )
    first_on = models.DateField(_("first on"))
    last_on = models.DateField(_("last on"))
    window_days = models.PositiveSmallIntegerField(
        _("days to hand them over"), default=3, validators=[MinValueValidator(1), MaxValueValidator(60)]
    )
    deposit = models.CharField(_("deposit (a note)"), max_length=200, blank=True)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)

    class Meta(Wants.Meta):
        verbose_name = _("series of orders")
        verbose_name_plural = _("series of orders")
        ordering = ["first_on", "pk"]
        constraints = [
            *Wants.Meta.constraints,
            models.CheckConstraint(
                condition=Q(last_on__gte=F("first_on")),
                name="series_ends_after_start",
                violation_error_message=_("The last day must not be before the first."),
            ),
            models.CheckConstraint(
                condition=Q(every_weeks__gte=1, every_weeks__lte=52, window_days__gte=1, window_days__lte=60),
                name="series_rhythm_sensible",
            ),
        ]

    def __str__(self) -> str:
        return self.customer


class Order(Versioned):
    """An order. series, series_on: the series it came from and which of its days; alone: changed by itself since."""

    customer = models.CharField(_("customer (a name or a code)"), max_length=80)
    status = models.CharField(
        _("status"), max_length=9, choices=OrderStatus.choices, default=OrderStatus.CONFIRMED
    )
    priority = models.PositiveSmallIntegerField(
        _("priority"), choices=Priority.choices, default=Priority.USUAL
    )
    deposit = models.CharField(_("deposit (a note)"), max_length=200, blank=True)
    notes = models.TextField(_("notes"), blank=True, max_length=2000)
    ordered_on = models.DateField(_("ordered on"))
    series = models.ForeignKey(
        OrderSeries, on_delete=models.RESTRICT, null=True, blank=True, related_name="orders"
    )
    series_on = models.DateField(null=True, blank=True, editable=False)
    alone = models.BooleanField(default=False, editable=False)

    class Meta:
        verbose_name = _("order")
        verbose_name_plural = _("orders")
        ordering = ["ordered_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(status__in=OrderStatus.values), name="order_status_known"),
            models.CheckConstraint(
                condition=Q(priority__gte=1, priority__lte=3), name="order_priority_known"
            ),
            models.UniqueConstraint(fields=["series", "series_on"], name="order_once_a_day_of_its_series"),
            models.CheckConstraint(
                condition=Q(series__isnull=True, series_on__isnull=True)
                | Q(series__isnull=False, series_on__isnull=False),
                name="order_series_has_its_day",
            ),
        ]

    def __str__(self) -> str:
        return self.customer


class OrderLine(Wants):
    """One line of an order; from_on to to_on, both included, are the days on which the birds may be handed over."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    from_on = models.DateField(_("from"))
    to_on = models.DateField(_("to"))

    class Meta(Wants.Meta):
        verbose_name = _("order line")
        verbose_name_plural = _("order lines")
        ordering = ["from_on", "pk"]
        constraints = [
            *Wants.Meta.constraints,
            models.CheckConstraint(
                condition=Q(to_on__gte=F("from_on")),
                name="line_window_in_order",
                violation_error_message=_("The last day must not be before the first."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.birds} × {self.programme}"


class Filling(Owned):
    """Birds of one batch handed over for a line; the count entry takes them off the ledger."""

    line = models.ForeignKey(OrderLine, on_delete=models.RESTRICT, related_name="fillings")
    batch = models.ForeignKey(Batch, on_delete=models.RESTRICT, related_name="fillings")
    birds = models.PositiveIntegerField(_("birds"))
    day = models.DateField(_("day"))
    count_entry = models.OneToOneField(CountEntry, on_delete=models.RESTRICT, related_name="filling")
    member = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    created_at = models.DateTimeField()

    class Meta:
        verbose_name = _("hand-over")
        verbose_name_plural = _("hand-overs")
        ordering = ["day", "pk"]
        constraints = [models.CheckConstraint(condition=Q(birds__gte=1), name="filling_has_birds")]

    def __str__(self) -> str:
        return f"{self.birds} {self.day}"


class Hold(Versioned):
    """Birds of a batch kept out of orders, to be kept back."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="holds")
    birds = models.PositiveIntegerField(_("birds"))
    sex = models.CharField(_("sex"), max_length=6, choices=WantedSex.choices, default=WantedSex.ANY)
    reason = models.CharField(_("what for"), max_length=200, blank=True)

    class Meta:
        verbose_name = _("hold")
        verbose_name_plural = _("holds")
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(birds__gte=1), name="hold_has_birds"),
            models.CheckConstraint(condition=Q(sex__in=WantedSex.values), name="hold_sex_known"),
        ]

    def __str__(self) -> str:
        return f"{self.birds} {self.reason}"
