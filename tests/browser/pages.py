"""Every page a member can reach, found from the address table itself, so that none is forgotten."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from django.contrib.auth.tokens import default_token_generator
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from api.models import ApiToken, Webhook
from api.services import tokens
from calendars.dav import passwords
from calendars.incoming.records import Entry, Reading, reading_json
from calendars.models import AppPassword, CalendarLink, OuterCalendar
from farm.models import (
    Away,
    Batch,
    Channel,
    CountEntry,
    Delivery,
    EggSet,
    Feed,
    FeedEntry,
    Filling,
    HistoryEntry,
    Hold,
    Housing,
    Intake,
    Machine,
    Member,
    Notice,
    Observation,
    Order,
    OrderLine,
    OrderSeries,
    OwnChore,
    PersonalLink,
    Stay,
    Supplier,
    WaitingTime,
)
from farm.services import aways, members, personal_links, proposals
from farm.services.channels import sealing
from farm.services.demo import Planted
from farm.services.reminders import own_channels

#: Other faces, and the pages of a plan that was worked out, pictures and swaps: the demo farm has none.
NOT_OURS = ("admin/", "api/v1/", "healthz", "readyz", "metrics", "^c/", "plan/<", "my/photo/<", "my/swaps/<")
NO_PAGE = {301, 302, 303, 405}  # a redirect, or the address of a button: nothing to look at

#: Pages that look otherwise to somebody who is not signed in.
STRANGERS = ("login", "start-farm", "password-reset", "invitation", "help")

#: What the number in an address stands for, by the word before it; else by the first word.
NOUNS: dict[str, tuple[type, dict[str, Any]]] = {
    "batches": (Batch, {"name": "White layers"}),
    "housing": (Housing, {"name": "Brooder 1"}),
    "seen": (Housing, {"name": "Brooder 1"}),
    "batch": (Batch, {"name": "White layers"}),
    "people": (Member, {"name": "Lina"}),
    "away": (Away, {}),
    "chores": (OwnChore, {}),
    "links": (PersonalLink, {}),
    "stays": (Stay, {"housing__name": "Pen 2"}),
    "counts": (CountEntry, {}),
    "observations": (Observation, {}),
    "history": (HistoryEntry, {}),
    "calendars": (CalendarLink, {}),
    "task-apps": (AppPassword, {}),
    "incoming": (OuterCalendar, {}),
    "hatching": (EggSet, {"name": "E4"}),
    "machines": (Machine, {"name": "Cabinet"}),
    "intakes": (Intake, {"state": "expected"}),
    "suppliers": (Supplier, {}),
    "orders": (Order, {"customer": "B-07"}),
    "lines": (OrderLine, {"order__customer": "B-03"}),
    "given": (Filling, {}),
    "series": (OrderSeries, {}),
    "holds": (Hold, {}),
    "feed": (Feed, {"kind": "starter", "medicated": False}),
    "entries": (FeedEntry, {"kind": "opened"}),
    "waits": (WaitingTime, {}),
    "channels": (Channel, {}),
    "messages": (Delivery, {}),
    "tokens": (ApiToken, {}),
    "webhooks": (Webhook, {}),
}


def patterns(within: URLResolver | None = None, before: str = "") -> Iterator[tuple[str, str, list[str]]]:
    """Yield (name, route, arguments) of every named address of the pages."""
    for entry in (within or get_resolver()).url_patterns:
        route = before + str(entry.pattern)
        if route.startswith(NOT_OURS):
            continue
        if isinstance(entry, URLResolver):
            yield from patterns(entry, route)
        elif isinstance(entry, URLPattern) and entry.name:
            yield entry.name, route, list(entry.pattern.converters)


def addresses(demo: Planted) -> dict[str, str]:
    """Return name to address, each with one of the demo's own things. KeyError: a route needs an example here."""
    lina = own(demo, Member, name="Lina")
    personal_links.make(demo.by, member_id=lina.pk, label="Lina's phone")
    passwords.make(demo.by, member_id=lina.pk, label="Lina's tablet")
    start = demo.by.today + timedelta(days=40)
    aways.add(demo.by, member_id=lina.pk, start=start, end=start + timedelta(days=3), note="at Grandma's")
    undelivered(demo)
    outer_calendar(demo, lina)
    tokens.make(demo.by, label="Shed lamp", scopes=["read"], expires_at=demo.by.now + timedelta(days=90))
    webhook(demo)
    return {
        name: reverse(name, kwargs={argument: example(demo, argument, route) for argument in arguments})
        for name, route, arguments in patterns()
    }


def pages(demo: Planted, asked: dict[str, str]) -> dict[str, str]:
    """Return those addresses that show the keeper a page. AssertionError for one that answers neither yes nor no."""
    found, broken = answers(demo, asked)
    assert broken == {}
    return found


def answers(demo: Planted, asked: dict[str, str]) -> tuple[dict[str, str], dict[str, int]]:
    """Return the addresses that show the keeper a page, and the statuses of those that fail."""
    client = Client(HTTP_HOST="localhost", raise_request_exception=False)
    assert demo.by.login is not None
    client.force_login(demo.by.login)
    found, broken = {}, {}
    for name, address in asked.items():
        reply = client.get(address)
        if reply.status_code == 200:
            if reply.headers["Content-Type"].startswith("text/html"):
                found[name] = address
        elif reply.status_code not in NO_PAGE:
            broken[name] = reply.status_code
    return found, broken


def example(demo: Planted, argument: str, route: str) -> Any:
    """Return what stands in an address for one of its arguments."""
    login = demo.by.login
    assert login is not None
    values: dict[str, Callable[[], Any]] = {
        "uidb64": lambda: urlsafe_base64_encode(force_bytes(login.pk)),
        "token": lambda: default_token_generator.make_token(login),
        "secret": lambda: members.invite(demo.by, member_id=own(demo, Member, name="Lina").pk),
        "link": lambda: personal_links.make(
            demo.by, member_id=own(demo, Member, name="Lina").pk, label="Phone"
        ),
        "code": lambda: own(demo, Housing, name="Brooder 1").code,
        "key": lambda: "chicken_layer_brown",
        "what": lambda: "housing",
        "proposal": lambda: proposals.propose(demo.by).code,
    }
    if argument in values:
        return values[argument]()
    words = [word for word in route.split(f"<int:{argument}>")[0].split("/") if word in NOUNS]
    model, names = NOUNS[words[-1]]
    return own(demo, model, **names).pk


def outer_calendar(demo: Planted, member: Member) -> None:
    """Give a member a calendar of theirs that tells of days away, with entries that count and others, and a failure."""
    today = demo.by.today
    away = [(today + timedelta(days=n), today + timedelta(days=n + 2)) for n in (9, 23)]
    entries = [Entry("School trip", start, end - timedelta(days=1), True) for start, end in away]
    entries.append(Entry("Bin day", today, today, False))
    values = reading_json(Reading(tuple(away), tuple(entries), left=3, skipped=1))
    OuterCalendar.objects.create(
        farm=demo.farm,
        member=member,
        label="School",
        address=sealing.seal("https://school.example/secret.ics"),
        host="school.example",
        without="bin",
        spans=values["spans"],
        seen=sealing.seal(json.dumps(values)),
        fetched_at=demo.by.now,
        next_at=demo.by.now,
        failed_at=demo.by.now,
        failure="unreachable",
    )


def webhook(demo: Planted) -> None:
    """Give the demo an address that is told of its changes; it could not be added, because no such host is found."""
    sealed = {name: sealing.seal("https://till.example/x") for name in ("sealed_address", "sealed_secret")}
    Webhook.objects.create(
        farm=demo.farm, label="Till", shown_address="https://till.example/…", created_at=demo.by.now, **sealed
    )


def undelivered(demo: Planted) -> None:
    """Give the demo's keeper a way to be told, and a message that did not arrive by it."""
    assert demo.by.member is not None
    row = own_channels.add(demo.by, member_id=demo.by.member.pk, kind="email", address="keeper@example.org")
    Channel.objects.filter(pk=row.pk).update(failed_at=demo.by.now, failure="The mail server was away.")
    about = {
        "kind": "round",
        "key": "1",
        "subject": "Morning round: 3 chores",
        "body": "Brooder 1",
        "url": "/my/",
    }
    times = {"made_at": demo.by.now, "due_at": demo.by.now, "expires_at": demo.by.now}
    notice = Notice.objects.create(farm=demo.farm, member=demo.by.member, **about, **times)
    state = {"state": "dead", "tries": 5, "next_try_at": demo.by.now, "error": "The mail server was away."}
    Delivery.objects.create(farm=demo.farm, notice=notice, channel=row, **state)


def own(demo: Planted, model: Any, **names: Any) -> Any:
    """Return the demo's first row of a model that goes by these names. AssertionError without one."""
    found = model.objects.filter(farm=demo.farm, **names).order_by("pk").first()
    assert found is not None, f"the demo has no {model.__name__} {names}"
    return found
