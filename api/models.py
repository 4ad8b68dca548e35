"""Keys of programs to a farm, what they sent under a key of their own, and whom the farm tells of its changes."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from farm.models import Member
from farm.models.owned import Owned, Versioned


class Scope(models.TextChoices):
    """What a token may be used for; never more than its member may do."""

    READ = "read", _("read what the member sees")
    RECORD = "record", _("record: ticks, counts, observations, feed")
    WRITE = "write", _("plan and change: batches, housing, stays, plans, eggs, orders")
    PEOPLE = "people", _("people: members, days away, links and tokens")


def check_scopes(value: object) -> None:
    """Raise ValidationError unless `value` is a list of scopes, each once and at least one."""
    if not isinstance(value, list) or not value or len(set(map(str, value))) < len(value):
        raise ValidationError(_("Choose at least one."))
    if any(one not in Scope.values for one in value):
        raise ValidationError(_("Choose scopes of the list."))


class ApiToken(Owned):
    """A program's key to one farm in the name of one member. Only its hash is kept."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    label = models.CharField(_("what it is for"), max_length=60)
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    scopes = models.JSONField(_("may"), default=list, validators=[check_scopes])
    created_at = models.DateTimeField(editable=False)
    expires_at = models.DateTimeField(_("ends"), editable=False)
    last_used_on = models.DateField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("API token")
        verbose_name_plural = _("API tokens")
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.label


class SentRequest(Owned):
    """A write that a program sent under an `Idempotency-Key`, with the answer it got.

    Stored in the same transaction as the write, so that the one is never there without the other. digest: of method,
    address and body; the same key with another one is a slip of the program.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    headers = models.JSONField(default=dict)
    sealed_body = models.TextField(blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name = _("sent request")
        verbose_name_plural = _("sent requests")
        constraints = [models.UniqueConstraint(fields=["farm", "member", "key"], name="sent_request_once")]

    def __str__(self) -> str:
        return self.key


class Webhook(Versioned):
    """An address that is told of every change of the farm, signed with a secret of its own.

    nouns: what it is told about, [] for all. sent_upto: number of the last history entry it has taken. try_at: when
    the next try is due after failures; None while nothing failed. address and secret are kept sealed.
    """

    label = models.CharField(_("what it is for"), max_length=60)
    sealed_address = models.TextField(editable=False)
    sealed_secret = models.TextField(editable=False)
    shown_address = models.CharField(_("address"), max_length=200, editable=False)
    nouns = models.JSONField(_("about"), default=list, blank=True)
    active = models.BooleanField(_("switched on"), default=True)
    sent_upto = models.BigIntegerField(default=0, editable=False)
    fails = models.PositiveIntegerField(default=0, editable=False)
    trouble = models.CharField(max_length=200, blank=True, editable=False)
    try_at = models.DateTimeField(null=True, blank=True, editable=False)
    claimed_at = models.DateTimeField(null=True, blank=True, editable=False)
    last_sent_at = models.DateTimeField(null=True, blank=True, editable=False)
    created_at = models.DateTimeField(editable=False)

    class Meta:
        verbose_name = _("webhook")
        verbose_name_plural = _("webhooks")
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.label
