"""Every address of the site, and the thing of a farm that each address with a number or code is about."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from api.models import ApiToken, Webhook
from api.services import tokens
from calendars import services as calendars
from calendars.dav import passwords
from calendars.models import OuterCalendar
from farm.models import (
    Away,
    Batch,
    Channel,
    CountEntry,
    Delivery,
    EggEntry,
    EggSet,
    Feed,
    FeedEntry,
    Filling,
    HistoryEntry,
    Hold,
    Housing,
    Intake,
    Machine,
    MarkPhoto,
    Member,
    Notice,
    Observation,
    Order,
    OrderLine,
    OrderSeries,
    OwnChore,
    PersonalLink,
    Plan,
    ProgrammeVersion,
    RearingProgramme,
    ReminderWishes,
    SettingProposal,
    Stay,
    Supplier,
    Swap,
    WaitingTime,
)
from farm.services import (
    aways,
    chores,
    counts,
    egg_sets,
    feed_entries,
    feeds,
    fillings,
    holds,
    intakes,
    machines,
    members,
    observations,
    orders,
    own_chores,
    personal_links,
    plans,
    programmes,
    proposals,
    series,
    suppliers,
    waits,
)
from farm.services.channels import sealing
from farm.services.reminders import own_channels
from tests.conftest import TODAY, World


@dataclass(frozen=True)
class Address:
    """One URL pattern: its name, its arguments, and the role its page asks for (None: no page of a farm)."""

    route: str
    name: str
    arguments: tuple[str, ...]
    role: str | None


def addresses() -> list[Address]:
    """Return every address but the admin's, which is for support staff and has Django's own checks."""
    return [one for one in _walk(get_resolver().url_patterns, "") if not one.route.startswith("admin/")]


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
Things = Mapping[str, Any]
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


def things(world: World) -> Things:
    """Return one of each kind of thing, made on the world's farm."""
    world.add_housing("Place")
    batch = world.add_batch("Birds", housing="Place")
    count = counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)
    observations.add(world.by, kind="note", batch_id=batch.pk, note="seen")
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    machine = machines.add(world.by, name="Cabinet", does="both", medium_eggs=60)
    eggs = egg_sets.NewEggSet(programme="chicken_dual", eggs=9, set_on=TODAY, setter_id=machine.pk)
    supplier = suppliers.add(world.by, name="Mill")
    chicks = intakes.NewIntake(programme="duck", ordered=9, due_on=TODAY, supplier_id=supplier.pk)
    personal_links.make(world.by, member_id=world.keeper.pk, label="phone")
    channel = own_channels.add(world.by, member_id=world.keeper.pk, kind="email", address="x@example.org")
    link, _secret = calendars.make_link(world.by, member_id=world.keeper.pk, label="phone")
    wants: dict[str, Any] = {
        "programme": "chicken_layer_brown",
        "birds": 3,
        "age_from_days": 0,
        "age_to_days": 400,
    }
    line = orders.NewLine(from_on=TODAY, to_on=TODAY, **wants)
    order = orders.add(world.by, new=orders.NewOrder(customer="Somebody", lines=[line]))
    mash = feeds.add(world.by, name="Mash", kind="starter", species=["chicken"], bag_kg=25, lead_days=5)
    wait = {"what": "Wormer", "given_on": TODAY, "days": 0, "product": "eggs"}
    often = series.NewSeries(customer="Often", every_weeks=4, first_on=TODAY, last_on=TODAY, **wants)
    return {
        "order": order,
        "proposal": proposals.propose(world.by),
        "filling": fillings.hand_over(
            world.by, line_id=order.lines.get().pk, batch_id=batch.pk, birds=1, day=TODAY
        ),
        "series": series.add(world.by, new=often),
        "hold": holds.add(world.by, batch_id=batch.pk, birds=1),
        "feed": mash,
        "bag": feed_entries.buy(world.by, feed_id=mash.pk, bags=1, day=TODAY),
        "wait": waits.add(world.by, batch_id=batch.pk, **wait),
        "batch": batch,
        "count": count,
        "stay": batch.stays.get(),
        "housing": world.housing["Place"],
        "member": world.keeper,
        "away": aways.add(world.by, member_id=world.keeper.pk, start=TODAY, end=TODAY + timedelta(days=2)),
        "own_chore": own_chores.add(world.by, title="Birds, swept", start=TODAY, minutes=10),
        "personal_link": world.keeper.personal_links.get(),
        "channel": channel,
        "message": _undelivered(world, channel),
        "entry": HistoryEntry.objects.filter(farm=world.farm, noun="batch").first(),
        "link": link,
        "app_password": passwords.make(world.by, member_id=world.keeper.pk, label="Birds on my phone")[0],
        "outer": _outer(world),
        "token": _token(world),
        "webhook": _webhook(world),
        "programme": own,
        "version": own.versions.get(),
        "plan": plans.propose(world.by),
        "machine": machine,
        "eggs": egg_sets.set_eggs(world.by, new=eggs),
        "supplier": supplier,
        "intake": intakes.expect(world.by, new=chicks),
        "photo": _photo(world),
        "swap": _swap(world),
    }


def _outer(world: World) -> OuterCalendar:
    where = {"address": sealing.seal("https://birds.example/a.ics"), "host": "birds.example"}
    return OuterCalendar.objects.create(
        farm=world.farm, member=world.keeper, label="Birds, outside", next_at=world.by.now, **where
    )


def _token(world: World) -> ApiToken:
    ends = world.by.now + timedelta(days=30)
    tokens.make(world.by, label="Birds lamp", scopes=["read"], expires_at=ends)
    return ApiToken.objects.get(farm=world.farm)


def _webhook(world: World) -> Webhook:
    sealed = {name: sealing.seal("https://birds.example/x") for name in ("sealed_address", "sealed_secret")}
    shown = {"label": "Birds till", "shown_address": "https://birds.example/…"}
    return Webhook.objects.create(farm=world.farm, created_at=world.by.now, **shown, **sealed)


def _undelivered(world: World, channel: Channel) -> Delivery:
    times = dict.fromkeys(("made_at", "due_at", "expires_at"), world.by.now)
    said = {"kind": "round", "key": "1", "subject": "Birds wait", "body": "Birds", "url": "/my/"}
    notice = Notice.objects.create(farm=world.farm, member=world.keeper, **said, **times)
    state = {"state": "dead", "next_try_at": world.by.now}
    return Delivery.objects.create(farm=world.farm, notice=notice, channel=channel, **state)


def _photo(world: World) -> MarkPhoto:
    mark = chores.mark(world.by, source="room:1/look", due=TODAY, round="morning", title="Look at the Birds")
    return MarkPhoto.objects.create(farm=world.farm, mark=mark, jpeg=b"\xff\xd8\xff", at=world.by.now)


def _swap(world: World) -> Swap:
    taker = members.add(world.by, name="Taker", role="helper")
    turn = {"give_day": TODAY, "give_round": "morning", "offered_at": world.by.now}
    return Swap.objects.create(farm=world.farm, giver=world.keeper, taker=taker, **turn)


def path(address: Address, found: Things) -> str:
    """Return the address of `found` things. Raises KeyError for an address nobody has classified."""
    if not address.arguments:
        return reverse(address.name)
    if address.name in NEUTRAL:
        return reverse(address.name, kwargs=NEUTRAL[address.name])
    return reverse(address.name, kwargs=THINGS[address.name](found))


def counted(farm_id: int) -> dict[str, int]:
    """Return how many rows of each kind a farm has."""
    models = (
        ApiToken,
        Away,
        Batch,
        Channel,
        CountEntry,
        Delivery,
        EggEntry,
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
        OuterCalendar,
        OwnChore,
        PersonalLink,
        Plan,
        ProgrammeVersion,
        RearingProgramme,
        ReminderWishes,
        SettingProposal,
        Stay,
        Supplier,
        WaitingTime,
        Webhook,
    )
    return {model.__name__: model.objects.filter(farm_id=farm_id).count() for model in models}
