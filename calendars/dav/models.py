"""App passwords of task apps, and what has to be remembered so that a list changes only where its content does."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from farm.models import Member
from farm.models.owned import Owned


class AppPassword(Owned):
    """A password that opens one member's list to one task app. Only its hash is kept; it ends with the membership."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="app_passwords")
    label = models.CharField(_("where it is used"), max_length=60)
    secret_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(editable=False)
    last_used_on = models.DateField(_("last used"), null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(_("switched off"), null=True, blank=True, editable=False)

    class Meta:
        verbose_name = _("app password")
        verbose_name_plural = _("app passwords")
        ordering = ["created_at", "pk"]

    def __str__(self) -> str:
        return self.label


class TodoList(Owned):
    """One member's list as last settled.

    key: what it was made of; another key means: settle again. made: a random word, so that a token of an earlier list
    is never taken for one of this. revision: rises with each change of the list. floor: of changes up to this one,
    what was removed is not known any more.
    """

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=64, blank=True)
    made = models.CharField(max_length=16)
    revision = models.PositiveBigIntegerField(default=0)
    floor = models.PositiveBigIntegerField(default=0)

    class Meta:
        verbose_name = _("task list")
        verbose_name_plural = _("task lists")

    def __str__(self) -> str:
        return f"{self.member} #{self.revision}"


class TodoVersion(Owned):
    """The content version of one to-do in one list, with its finished text.

    name: its file name, without the ending. source, due, round: the occurrence. digest: of the visible content.
    timing: what a change of raises `sequence`. changed_at: DTSTAMP. extras: lines of task apps' own, kept for them.
    revision: of the list, when it last changed. gone_at: since when the list does not hold it; its body is empty then.
    """

    todo_list = models.ForeignKey(TodoList, on_delete=models.CASCADE, related_name="todos")
    name = models.CharField(max_length=32)
    source = models.CharField(max_length=120)
    due = models.DateField()
    round = models.CharField(max_length=8)
    digest = models.CharField(max_length=64, blank=True)
    timing = models.CharField(max_length=120)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    etag = models.CharField(max_length=40, blank=True)
    body = models.TextField(blank=True)
    extras = models.TextField(blank=True)
    revision = models.PositiveBigIntegerField()
    gone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("to-do version")
        verbose_name_plural = _("to-do versions")
        constraints = [models.UniqueConstraint(fields=["todo_list", "name"], name="todo_once_per_list")]
        indexes = [models.Index(fields=["todo_list", "revision"], name="todo_by_revision")]

    def __str__(self) -> str:
        return f"{self.name} #{self.revision}"
