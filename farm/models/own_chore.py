"""Chores the keeper made up: once, or repeating."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.chore_mark import Round
from farm.models.housing import Housing
from farm.models.member import ABILITIES
from farm.models.owned import Versioned


class Who(models.TextChoices):
    """The least experienced who may do it."""

    ADULT = "adult", _("adults only")
    HELPER = "helper", _("anybody but children")
    CHILD = "child", _("children too, beside an adult")


class Asks(models.TextChoices):
    """What whoever did it is asked for."""

    NOTHING = "", _("a tick")
    NOTE = "note", _("a tick and a note")
    PHOTO = "photo", _("a tick and a picture")


def check_texts(value: object) -> None:
    """Raise ValidationError unless `value` is a list of up to 20 short texts."""
    if (
        not isinstance(value, list)
        or len(value) > 20
        or any(not isinstance(one, str) or not one.strip() or len(one) > 120 for one in value)
    ):
        raise ValidationError(_("Write up to 20 lines of up to 120 characters."))


def check_needs(value: object) -> None:
    """Raise ValidationError unless `value` is a list of abilities."""
    if not isinstance(value, list) or not set(map(str, value)) <= set(ABILITIES):
        raise ValidationError(_("Choose abilities of the list."))


def check_days(value: object) -> None:
    """Raise ValidationError unless `value` is a list of days written as 2031-05-04."""
    try:
        if not isinstance(value, list) or len(value) > 400:
            raise ValueError
        for one in value:
            date.fromisoformat(one)
    except (ValueError, TypeError) as error:
        raise ValidationError(_("Write each day as a date.")) from error


class OwnChore(Versioned):
    """One chore of the keeper's own.

    repeat: a recurrence rule of `farm.planning.repeats`, "" for once on `start`. exceptions: ISO days left out. care:
    birds suffer when it is not done the same day. place: where, when it is no housing. begun_on,
    ended_on: nothing of it is asked before, and from then on.
    """

    title = models.CharField(_("what is to be done"), max_length=100)
    start = models.DateField(_("first day"))
    repeat = models.CharField(_("repeats"), max_length=200, blank=True)
    exceptions = models.JSONField(_("not on"), default=list, blank=True, validators=[check_days])
    round = models.CharField(_("round"), max_length=8, choices=Round.choices, default=Round.MORNING)
    housing = models.ForeignKey(
        Housing, on_delete=models.SET_NULL, null=True, blank=True, related_name="+", verbose_name=_("housing")
    )
    place = models.CharField(_("place"), max_length=60, blank=True)
    minutes = models.PositiveSmallIntegerField(
        _("minutes"), default=10, validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    who = models.CharField(_("who may do it"), max_length=8, choices=Who.choices, default=Who.HELPER)
    needs = models.JSONField(_("needs"), default=list, blank=True, validators=[check_needs])
    two_people = models.BooleanField(_("takes two people"), default=False)
    care = models.BooleanField(_("the birds depend on it that day"), default=False)
    asks = models.CharField(_("asks for"), max_length=5, choices=Asks.choices, blank=True)
    checklist = models.JSONField(_("checklist"), default=list, blank=True, validators=[check_texts])
    begun_on = models.DateField(editable=False)
    ended_on = models.DateField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("own chore")
        verbose_name_plural = _("own chores")
        ordering = ["title", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(round__in=Round.values), name="own_chore_round_known"),
            models.CheckConstraint(condition=Q(who__in=Who.values), name="own_chore_who_known"),
            models.CheckConstraint(condition=Q(asks__in=Asks.values), name="own_chore_asks_known"),
            models.CheckConstraint(
                condition=Q(minutes__gte=1, minutes__lte=600), name="own_chore_minutes_sensible"
            ),
        ]

    def __str__(self) -> str:
        return self.title
