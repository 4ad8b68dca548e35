"""The messaging services a member may name, by the beginning of the address Apprise knows each by.

A list of what is allowed and not of what is refused: Apprise also writes to files, programs, desktops and any web
address there is, and each version learns more. Each service here is reached over https, at its own host or at one the
member names.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlsplit

from django.conf import settings
from django.utils.translation import gettext as _

from farm.services.channels.message import refused

#: Run by somebody for everybody; the address holds secrets only.
HOSTED: Mapping[str, str] = {
    "46elks": "46elks",
    "bulksms": "BulkSMS",
    "clicksend": "ClickSend",
    "d7sms": "D7 Networks",
    "discord": "Discord",
    "freemobile": "Free Mobile",
    "gchat": "Google Chat",
    "ifttt": "IFTTT",
    "join": "Join",
    "line": "LINE",
    "msgbird": "MessageBird",
    "nexmo": "Vonage",
    "pbul": "Pushbullet",
    "plivo": "Plivo",
    "pover": "Pushover",
    "prowl": "Prowl",
    "psafers": "Pushsafer",
    "seven": "seven",
    "simplepush": "Simplepush",
    "sinch": "Sinch",
    "slack": "Slack",
    "spush": "Simplepush",
    "tgram": "Telegram",
    "threema": "Threema",
    "twilio": "Twilio",
    "voipms": "VoIP.ms",
    "vonage": "Vonage",
    "whatsapp": "WhatsApp",
    "zulip": "Zulip",
}
#: Run by whoever likes; the address names the host.
OWN: Mapping[str, str] = {
    "apprises": "Apprise API",
    "barks": "Bark",
    "gotifys": "Gotify",
    "hassios": "Home Assistant",
    "matrixs": "Matrix",
    "mmosts": "Mattermost",
    "nclouds": "Nextcloud",
    "nctalks": "Nextcloud Talk",
    "ntfys": "ntfy",
    "rockets": "Rocket.Chat",
    "signals": "Signal",
    "smseagles": "SMSEagle",
    "synologys": "Synology Chat",
}
#: The same without TLS, in a household's own network only.
PLAIN: Mapping[str, str] = {name.removesuffix("s"): label for name, label in OWN.items()}
#: Addresses as these services themselves show them; Apprise reads them too.
NATIVE: Mapping[str, str] = {
    "chat.googleapis.com": "gchat",
    "discord.com": "discord",
    "discordapp.com": "discord",
    "hooks.slack.com": "slack",
    "maker.ifttt.com": "ifttt",
    "ntfy.sh": "ntfys",
}
#: What may follow a `?`. Others can name files and further hosts, or switch checks off.
OPTIONS = frozenset(
    {"auth", "channel", "device", "from", "key", "preview", "priority", "secret", "silent", "sound"}
    | {"thread", "threadKey", "to", "token", "topic"}
)
#: Characters. Project default (judgement).
MOST = 1_000
_SCHEMA = re.compile(r"([a-z0-9]{2,20})://", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Named:
    """What an address says before anything is asked: the service's name, and whether the member names its host."""

    label: str
    own: bool


def named(address: str) -> Named:
    """Return which service an address is of. Raises ChannelRefused; its text has nothing of the address in it."""
    matched = _SCHEMA.match(address)
    if not matched or len(address) > MOST or any(one.isspace() or not one.isprintable() for one in address):
        raise refused(_("Enter the address of a messaging service, like ntfys://ntfy.sh/your-own-topic."))
    schema = matched[1].lower()
    try:
        parts = urlsplit(address)
        if schema == "https":
            schema = NATIVE.get((parts.hostname or "").lower(), "")
        options = {name for name, _value in parse_qsl(parts.query, keep_blank_values=True)}
    except ValueError as error:
        raise refused(_("That address can't be read. Look for a typing slip.")) from error
    if options - OPTIONS:
        known = ", ".join(sorted(OPTIONS))
        raise refused(_("Only these may follow the ? of an address: %(known)s.") % {"known": known})
    if schema in HOSTED or schema in OWN:
        return Named(HOSTED.get(schema) or OWN[schema], schema in OWN)
    if schema in PLAIN:
        if settings.PRIVATE_PUSH:
            return Named(PLAIN[schema], True)
        text = _("Without TLS others could read along. Begin the address with %(secure)s:// instead.")
        raise refused(text % {"secure": f"{schema}s"})
    raise refused(
        _("That service is not one messages are sent to from here. The help page lists those that are.")
    )
