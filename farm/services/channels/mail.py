"""By e-mail, through the server's own mail settings."""

from __future__ import annotations

import hashlib
import smtplib
from email.utils import parseaddr

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage, get_connection
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from farm.services.channels.message import ChannelRefused, Message, NotSent, refused


def check(address: str) -> str:
    """Return the address as it is shown. Raises ChannelRefused for what is no e-mail address."""
    address = address.strip()
    try:
        validate_email(address)
    except ValidationError as error:
        text = _("Enter an e-mail address, like ada@example.org.")
        raise refused(text) from error
    return address


def send(address: str, message: Message, timeout: float) -> None:
    """Hand a letter to the mail server within `timeout` seconds for each of its steps. Raises NotSent.

    The same key to the same address carries the same Message-ID, by which mail servers and readers know it again.
    """
    try:
        to = check(address)
    except ChannelRefused as error:
        raise NotSent(str(error), lasting=True) from error
    # RFC 3834: what a machine wrote by itself gets no "I am on holiday" back.
    headers = {"Message-ID": _message_id(message.key, to), "Auto-Submitted": "auto-generated"}
    try:
        connection = get_connection(timeout=timeout)
        letter = EmailMessage(
            message.headline(), message.text(), to=[to], connection=connection, headers=headers
        )
        taken = letter.send()
    except smtplib.SMTPRecipientsRefused as error:
        code = max((code for code, _said in error.recipients.values()), default=450)
        raise _refused(lasting=code >= 500) from error
    except smtplib.SMTPDataError as error:
        raise _refused(lasting=error.smtp_code >= 500) from error
    except ValueError as error:  # an address or header that can't be written, UnicodeError included
        raise _refused(lasting=True) from error
    except OSError as error:  # smtplib's other errors, which are about the server and not about the address
        raise NotSent(_("The mail server could not be reached or refused us."), lasting=False) from error
    if not taken:
        raise _refused(lasting=False)


def _refused(*, lasting: bool) -> NotSent:
    if lasting:
        return NotSent(_("The mail server refused this address or letter."), lasting=True)
    return NotSent(_("The mail server could not take the letter just now."), lasting=False)


def _message_id(key: str, to: str) -> str:
    """Return the Message-ID of a message to one address (RFC 5322), below the sender's own domain."""
    name = hashlib.sha256(f"{key}\n{to}".encode()).hexdigest()[:32]
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{name}@{domain.encode('idna').decode('ascii')}>"
