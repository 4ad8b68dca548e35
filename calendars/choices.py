"""What a calendar link can be asked for, and within which bounds."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class Scope(models.TextChoices):
    """What a calendar holds."""

    MINE = "mine", _("what I have to do")
    FARM = "farm", _("the whole farm")
    HOUSING = "housing", _("one housing")
    BATCH = "batch", _("one batch")
    ORDERS = "orders", _("orders and hatches")
    OUTLOOK = "outlook", _("outlook: moves, hatches and pick-ups only")


class Rounds(models.TextChoices):
    """How a calendar shows the routine chores of a day."""

    TIMED = "timed", _("each round at its time")
    DAILY = "daily", _("one line a day, without a time")


PAST_DAYS = 30
AHEAD_DAYS = 180
#: Technical bounds on what is built for one link; project default (judgement).
MOST_PAST_DAYS = 90
LEAST_AHEAD_DAYS = 7
MOST_AHEAD_DAYS = 366
MOST_ALARM_MINUTES = 1440
