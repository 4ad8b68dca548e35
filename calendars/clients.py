"""Which family of programs asked for a calendar: enough to tell a phone from a script, too little to tell a person.

Only the family's key is stored; what the program said of itself is forgotten with the request.
"""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

#: In order: the first that matches. Many programs name others in what they say of themselves.
_FAMILIES = (
    ("google", r"google-calendar|googlebot|feedfetcher"),
    ("microsoft", r"microsoft|outlook|exchange|office"),
    ("apple", r"dataaccessd|calendaragent|ical/|ios/|macos|mac os x/|cfnetwork"),
    ("mail", r"thunderbird|lightning|evolution|kontact|korganizer|gnome"),
    ("browser", r"mozilla/|opera/"),
    ("android", r"icsx5|davx5|dav4jvm|android|okhttp"),
    ("script", r"curl|wget|python|vdirsyncer|go-http|java|node|ruby|perl"),
)


def family(user_agent: str) -> str:
    """Return the key of the family a User-Agent belongs to, "other" for those unknown."""
    said = user_agent[:400].lower()
    return next((key for key, words in _FAMILIES if re.search(words, said)), "other")


def called(key: str) -> str:
    """Return a family's name as the pages say it, "" for none."""
    names = {
        "google": _("a Google server"),
        "microsoft": _("a Microsoft server or Outlook"),
        "apple": _("an Apple device"),
        "android": _("an Android app"),
        "mail": _("a mail or desktop program"),
        "browser": _("a web browser"),
        "script": _("a script"),
        "other": _("another program"),
    }
    return names.get(key, "")
