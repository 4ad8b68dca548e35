"""The people of a farm, with or without a login, and the links that invite them."""

from __future__ import annotations

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from farm.models.owned import Owned, Versioned


class Role(models.TextChoices):
    """What a member may do."""

    KEEPER = "keeper", _("keeper (plans and decides)")
    HELPER = "helper", _("helper (does and records)")
    CHILD = "child", _("child (helps beside an adult)")


ROUND_NAMES = ("morning", "midday", "evening")
#: The abilities, and the column that holds each.
ABILITIES = {
    "heat": "can_heat",
    "lifting": "can_lift",
    "water": "can_water",
    "dosing": "can_dose",
    "slaughter": "can_slaughter",
}
#: What no child may ever be given.
NEVER_CHILDREN = ("heat", "dosing", "slaughter")


def round_code(weekday: int, name: str) -> int:
    """Return how `Member.rounds` names a round of the week: Monday morning 0 to Sunday evening 20."""
    return 3 * weekday + ROUND_NAMES.index(name)


def all_rounds() -> list[int]:
    """Return every round of the week."""
    return list(range(21))


def check_rounds(value: object) -> None:
    """Raise ValidationError unless `value` is a list of rounds of the week, each once."""
    if (
        not isinstance(value, list)
        or any(type(code) is not int or not 0 <= code <= 20 for code in value)
        or len(set(value)) < len(value)
    ):
        raise ValidationError(_("Choose rounds of the week."))


def check_jobs(value: object) -> None:
    """Raise ValidationError unless `value` is a list of keys of chores."""
    if not isinstance(value, list) or any(not isinstance(one, str) or len(one) > 80 for one in value):
        raise ValidationError(_("Choose chores of the list."))


class Member(Versioned):
    """A person on a farm, and what the rota must know of them.

    adult: 18 or older. rounds: when they are there, codes of `round_code`. max_week_minutes: what they want at most in
    a week. share: their part of the work in hundredths of a full part. prefers, refuses: keys of chores.
    """

    login = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="memberships",
        verbose_name=_("login"),
    )
    name = models.CharField(_("name"), max_length=80)
    role = models.CharField(_("role"), max_length=8, choices=Role.choices, default=Role.HELPER)
    adult = models.BooleanField(_("adult, 18 or older"), default=False)
    can_heat = models.BooleanField(_("heat equipment"), default=False)
    can_lift = models.BooleanField(_("lifting"), default=False)
    can_water = models.BooleanField(_("carrying water"), default=True)
    can_dose = models.BooleanField(_("giving medicine"), default=False)
    can_slaughter = models.BooleanField(_("slaughter"), default=False)
    rounds = models.JSONField(_("is there for"), default=all_rounds, blank=True, validators=[check_rounds])
    max_week_minutes = models.PositiveIntegerField(
        _("minutes a week at most"), null=True, blank=True, validators=[MaxValueValidator(10_080)]
    )
    share = models.PositiveSmallIntegerField(_("share of the work"), default=100)
    prefers = models.JSONField(_("likes to do"), default=list, blank=True, validators=[check_jobs])
    refuses = models.JSONField(_("does not do"), default=list, blank=True, validators=[check_jobs])
    # Left members stay: history and counts name them.
    left_on = models.DateField(_("left on"), null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("member")
        verbose_name_plural = _("members")
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "login"],
                condition=Q(login__isnull=False, left_on__isnull=True),
                name="member_login_once_per_farm",
            ),
            models.UniqueConstraint(
                fields=["farm", "name"],
                condition=Q(left_on__isnull=True),
                name="member_name_once_per_farm",
                violation_error_message=_("Somebody on this farm already has this name."),
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="member_role_known"),
            models.CheckConstraint(
                condition=~Q(role="child")
                | Q(adult=False, can_heat=False, can_dose=False, can_slaughter=False),
                name="member_child_never_hot_work",
                violation_error_message=_("A child never gets heat equipment, medicine or slaughter."),
            ),
            models.CheckConstraint(condition=Q(share__lte=1000), name="member_share_sensible"),
            models.CheckConstraint(
                condition=Q(max_week_minutes__isnull=True) | Q(max_week_minutes__lte=10_080),
                name="member_week_has_so_many_minutes",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def abilities(self) -> frozenset[str]:
        """Return what they can do beyond what everybody can."""
        return frozenset(name for name, column in ABILITIES.items() if getattr(self, column))

    def is_there(self, weekday: int, name: str) -> bool:
        """Say whether they are there for that round in an ordinary week."""
        return round_code(weekday, name) in self.rounds


class Away(Owned):
    """Days on which a member can't be given work, from `start` up to but not including `end`.

    outside: what told of them, "" for days that somebody entered.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="aways")
    start = models.DateField(_("first day away"))
    end = models.DateField(_("back on"))
    note = models.CharField(_("note"), max_length=100, blank=True)
    outside = models.CharField(max_length=40, blank=True, editable=False)

    class Meta:
        verbose_name = _("days away")
        verbose_name_plural = _("days away")
        ordering = ["start", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__gt=models.F("start")),
                name="away_ends_after_start",
                violation_error_message=_("The day somebody is back comes after the first day away."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.member} {self.start} – {self.end}"


class PersonalLink(Owned):
    """A secret address that opens one member's rounds for ticking, without a login. Only its hash is kept."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="personal_links")
    label = models.CharField(_("label"), max_length=60)
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(editable=False)
    last_used_on = models.DateField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("personal link")
        verbose_name_plural = _("personal links")
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.label


class Invitation(models.Model):
    """A link that gives a login to a member, once. Only the hash of its secret is kept."""

    farm = models.ForeignKey("farm.Farm", on_delete=models.CASCADE, related_name="+")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="invitations")
    token_sha256 = models.CharField(max_length=64, unique=True)
    email = models.EmailField(_("e-mail"), blank=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("invitation")
        verbose_name_plural = _("invitations")

    def __str__(self) -> str:
        return f"{self.member} until {self.expires_at:%Y-%m-%d}"
