"""One of each kind of thing that a farm can have, and how many of each it has."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

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

Things = Mapping[str, Any]


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
