"""Every address of the site, and the thing of a farm that each address with a number or code is about."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.architecture.things import Things, counted, things

__all__ = [
    "NEUTRAL",
    "OPEN",
    "OWN_LOGIN",
    "THINGS",
    "Address",
    "Things",
    "addresses",
    "counted",
    "path",
    "things",
]


@dataclass(frozen=True)
class Address:
    """One URL pattern: its name, its arguments, and the role its page asks for (None: no page of a farm)."""

    route: str
    name: str
    arguments: tuple[str, ...]
    role: str | None


def addresses() -> list[Address]:
    """Return every address but the admin's, which is for support staff and has Django's own checks, and the API's,
    whose every operation tests/api/test_api_isolation.py tries by its schema."""
    return [one for one in every_address() if not one.route.startswith(("admin/", "api/v1/"))]


def every_address() -> list[Address]:
    """Return every address there is."""
    return list(_walk(get_resolver().url_patterns, ""))


def _walk(patterns: list[Any], prefix: str) -> Iterator[Address]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern.url_patterns, prefix + str(pattern.pattern))
        elif isinstance(pattern, URLPattern):
            arguments = tuple(pattern.pattern.regex.groupindex)
            role = getattr(pattern.callback, "farm_role", None)
            yield Address(prefix + str(pattern.pattern), str(pattern.name), arguments, role)


#: Open to everyone, and why that is right.
OPEN = {
    "healthz": "says that the process answers",
    "readyz": "says that database and broker answer",
    "metrics": "switched off unless asked for; numbers alone, behind a token where one is set",
    "help": "general words and cautions; shows nothing of a farm",
    "calendar": "its secret is the permission; tests/calendars judges it",
    "login": "where one comes in",
    "login-code": "asks for a code whoever gave a right password just now",
    "csp-reports": "takes browsers' complaints, shows nothing",
    "password-reset": "sends a letter to a known address, says nothing of unknown ones",
    "password-reset-sent": "says that a letter may be on its way",
    "password-reset-confirm": "its token is the permission",
    "start-farm": "makes a new login and farm",
    "invitation": "its secret is the permission",
    "my-link": "its secret is the permission; tests/web/test_my_links.py judges it",
    "my-link-sync": "its secret is the permission",
    "my-link-manifest": "its secret is the permission",
    "my-manifest": "describes the app, says nothing of a farm",
    "my-worker": "a script, the same for everyone",
}
#: For anyone signed in, about their own login alone.
OWN_LOGIN = {"logout", "password-change", "choose-farm", "login-give-up"}
OWN_LOGIN |= {"bring-farm"}
OWN_LOGIN |= {"second-step", "second-step-add", "second-step-codes", "second-step-off"}

#: Addresses whose arguments name something of a farm, by address name.
THINGS: dict[str, Callable[[Things], dict[str, Any]]] = {
    **{name: lambda t: {"pk": t["batch"].pk} for name in ("batch", "batch-edit", "batch-move", "stay-new")},
    **{name: lambda t: {"pk": t["batch"].pk} for name in ("batch-count", "batch-observe", "batch-programme")},
    "stay-new-look": lambda t: {"pk": t["batch"].pk},
    **{f"stay-{name}": lambda t: {"pk": t["stay"].pk} for name in ("edit", "look", "pin", "remove")},
    **{
        f"plan-{name}": lambda t: {"plan": t["plan"].code}
        for name in (
            "page",
            "ways",
            "room",
            "further",
            "without",
            "again",
            "prove",
            "now",
            "stop",
            "drop",
            "adopt",
        )
    },
    **{name: lambda t: {"pk": t["count"].pk} for name in ("batch-count-reverse",)},
    **{
        f"housing-{name}": lambda t: {"pk": t["housing"].pk}
        for name in ("page", "edit", "remove", "observe", "print")
    },
    "today-seen": lambda t: {"pk": t["housing"].pk},
    **{f"programme{part}": lambda t: {"key": str(t["programme"].pk)} for part in ("", "-copy", "-edit")},
    "housing-card": lambda t: {"code": t["housing"].code},
    **{
        f"member-{name}": lambda t: {"pk": t["member"].pk}
        for name in ("edit", "leave", "forget", "invite", "away", "links", "reminders")
    },
    **{f"channel-{name}": lambda t: {"pk": t["channel"].pk} for name in ("test", "switch", "remove")},
    **{f"message-{name}": lambda t: {"pk": t["message"].pk} for name in ("again", "drop")},
    **{f"own-chore-{name}": lambda t: {"pk": t["own_chore"].pk} for name in ("edit", "end", "remove")},
    "away-remove": lambda t: {"pk": t["away"].pk},
    "member-link-off": lambda t: {"pk": t["personal_link"].pk},
    "history-entry": lambda t: {"pk": t["entry"].pk},
    "history-undo": lambda t: {"pk": t["entry"].pk},
    "calendar-link": lambda t: {"pk": t["link"].pk},
    **{f"calendar-link-{name}": lambda t: {"pk": t["link"].pk} for name in ("event", "rotate", "off")},
    "dav-password-off": lambda t: {"pk": t["app_password"].pk},
    **{
        f"incoming-{name}": lambda t: {"pk": t["outer"].pk}
        for name in ("page", "edit", "switch", "again", "remove")
    },
    "egg-set": lambda t: {"pk": t["eggs"].pk},
    **{
        f"egg-set-{name}": lambda t: {"pk": t["eggs"].pk}
        for name in ("edit", "candle", "hatch", "cancel", "print")
    },
    **{f"machine-{name}": lambda t: {"pk": t["machine"].pk} for name in ("edit", "remove")},
    "intake": lambda t: {"pk": t["intake"].pk},
    **{f"intake-{name}": lambda t: {"pk": t["intake"].pk} for name in ("edit", "arrive", "cancel")},
    "order": lambda t: {"pk": t["order"].pk},
    **{f"order-{name}": lambda t: {"pk": t["order"].pk} for name in ("edit", "status", "cancel", "remove")},
    "order-give": lambda t: {"pk": t["order"].lines.get().pk},
    **{
        name: lambda t: {"proposal": t["proposal"].code}
        for name in ("proposal", "proposal-adopt", "proposal-drop")
    },
    "order-take-back": lambda t: {"pk": t["filling"].pk},
    **{f"series-{name}": lambda t: {"pk": t["series"].pk} for name in ("page", "edit", "end", "remove")},
    "hold-new": lambda t: {"pk": t["batch"].pk},
    **{f"hold-{name}": lambda t: {"pk": t["hold"].pk} for name in ("edit", "remove")},
    **{f"supplier-{name}": lambda t: {"pk": t["supplier"].pk} for name in ("edit", "remove")},
    **{
        f"feed-{name}": lambda t: {"pk": t["feed"].pk}
        for name in ("page", "edit", "remove", "buy", "open", "spoil", "count")
    },
    "feed-line-reverse": lambda t: {"pk": t["bag"].pk},
    "wait-new": lambda t: {"pk": t["batch"].pk},
    **{f"wait-{name}": lambda t: {"pk": t["wait"].pk} for name in ("edit", "again", "remove")},
}
THINGS["api-token-off"] = lambda t: {"pk": t["token"].pk}
THINGS |= {name: lambda t: {"pk": t["webhook"].pk} for name in ("webhook", "webhook-try", "webhook-remove")}
THINGS["my-photo"] = lambda t: {"pk": t["photo"].pk}
THINGS["my-swap-answer"] = lambda t: {"pk": t["swap"].pk, "answer": "accept"}
#: Addresses whose arguments name nothing of a farm, with arguments that exist.
NEUTRAL: dict[str, dict[str, Any]] = {
    "import-example": {"what": "housing"},
    "import-present": {"what": "housing"},
}


def path(address: Address, found: Things) -> str:
    """Return the address of `found` things. Raises KeyError for an address nobody has classified."""
    if not address.arguments:
        return reverse(address.name)
    if address.name in NEUTRAL:
        return reverse(address.name, kwargs=NEUTRAL[address.name])
    return reverse(address.name, kwargs=THINGS[address.name](found))
