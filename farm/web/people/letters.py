"""The letter of an invitation."""

from __future__ import annotations

import logging

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse

from farm.models import Member
from farm.services.members import INVITATION_DAYS

log = logging.getLogger(__name__)


def address(secret: str) -> str:
    """Return an invitation's full address, as others reach this site."""
    return settings.ADDRESS + reverse("invitation", args=[secret])


def send(sender: Member, member: Member, link: str, email: str) -> bool:
    """Send the link; return whether the mail server took it. It is shown on the page in any case."""
    context = {
        "sender": sender,
        "member": member,
        "farm": member.farm,
        "address": link,
        "days": INVITATION_DAYS,
    }
    subject = render_to_string("web/people/invitation_subject.txt", context)
    body = render_to_string("web/people/invitation_letter.txt", context)
    try:
        return send_mail(" ".join(subject.split()), body, None, [email]) == 1
    except OSError:  # smtplib's errors are OSErrors too
        log.warning("an invitation could not be mailed", exc_info=True)
        return False
