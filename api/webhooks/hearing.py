"""Every write that is committed is news for whoever wants to be told."""

from __future__ import annotations

from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from api.models import Webhook
from farm import dispatch
from farm.models import HistoryEntry


@receiver(post_save, sender=HistoryEntry)
def tell(instance: HistoryEntry, created: bool, **_more: Any) -> None:
    """Send the job that tells, where somebody is to be told."""
    if created and Webhook.objects.filter(farm_id=instance.farm_id, active=True).exists():
        dispatch.after_commit("send_webhooks", farm_id=instance.farm_id)
