"""A calendar read for days away, from the address to the rota: looked at, used, followed, failed, removed."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from ssl import SSLContext

import pytest

from calendars import jobs as calendar_jobs
from calendars.incoming import asking, jobs, queries, refreshing, services
from calendars.models import OuterCalendar
from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Away, Change, Farm, HistoryEntry, Member
from farm.queries import rota_people
from farm.services import aways, history, members
from farm.services.channels import sealing
from farm.web import clock
from tests.calendars.incoming_world import address, calendar, served, whole
from tests.conftest import NOON, TODAY, World, actor
from tests.farm.channels_world import Stub, always

HOUR = timedelta(hours=1)
MAY_4, MAY_11 = date(2026, 5, 4), date(2026, 5, 11)
TRIP = whole("1", MAY_4, date(2026, 5, 6))
CHOSEN = {"label": " School ", "counts": "days", "least_hours": 4, "words": "", "without": ""}


@pytest.fixture
def stub(monkeypatch, pem: Path, trust: SSLContext):
    with served(monkeypatch, pem, trust, calendar(TRIP), ETag='"a1"') as found:
        yield found


@pytest.fixture
def finn(world: World) -> Member:
    return members.add(world.by, name="Finn", role="helper")


def add(
    world: World, member: Member, stub: Stub, *, on: bool = True, path: str = "/secret.ics", **chosen
) -> OuterCalendar:
    row = services.add(world.by, member_id=member.pk, address=address(stub, path), **CHOSEN | chosen)
    return services.switch(world.by, calendar_id=row.pk, on=True) if on else row


def days(member: Member) -> list[tuple[str, str]]:
    found = Away.objects.filter(member=member)
    return [(f"{row.start:%m-%d}..{row.end - timedelta(days=1):%m-%d}", row.outside) for row in found]


def has(stub: Stub, *entries: str, etag: str = '"a2"') -> None:
    stub.answer = always(200, calendar(*entries), ETag=etag)


def test_a_new_calendar_is_read_and_changes_nothing_before_it_is_used(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub, on=False)
    assert days(finn) == []
    assert (row.label, row.host, row.on, row.etag) == ("School", "push.example", False, '"a1"')
    assert queries.new_days(row, TODAY) == [(MAY_4, date(2026, 5, 7))]
    refreshing.settle(farm_id=world.farm.pk, now=NOON)
    assert days(finn) == []


def test_a_calendar_in_use_makes_days_away_that_the_rota_sees(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    assert days(finn) == [("05-04..05-06", row.uid)]
    assert rota_people.aways(world.farm, TODAY)[finn.pk] == ((MAY_4, date(2026, 5, 7)),)
    assert Away.objects.get().note == "School"


def test_the_address_is_kept_sealed_and_told_nowhere(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    stored = OuterCalendar.objects.filter(pk=row.pk).values().get()
    assert sealing.open_sealed(stored.pop("address")) == address(stub)
    assert sealing.open_sealed(stored["seen"]).count("Trip") == 1
    told = [stored, *Change.objects.values(), *HistoryEntry.objects.values(), *Away.objects.values()]
    assert "secret" not in str(told)
    assert "Trip" not in str(told)


def test_an_address_that_has_no_calendar_is_refused_with_the_reason_and_nothing_is_kept(
    world, finn, stub: Stub
):
    stub.answer = always(404)
    with pytest.raises(BadInput) as refused:
        add(world, finn, stub)
    assert refused.value.fields == {"address": ["There is no calendar at this address any more."]}
    stub.answer = always(200, b"<html>")
    with pytest.raises(BadInput, match="not a calendar"):
        add(world, finn, stub)
    assert OuterCalendar.objects.count() == 0


def test_the_same_calendar_is_read_once_for_a_member_and_five_are_enough(
    world: World, finn: Member, stub: Stub
):
    add(world, finn, stub)
    with pytest.raises(BadInput, match="already"):
        add(world, finn, stub)
    add(world, world.keeper, stub)
    for n in range(4):
        add(world, finn, stub, path=f"/{n}.ics")
    with pytest.raises(BadInput, match="enough"):
        add(world, finn, stub, path="/5.ics")


@pytest.mark.parametrize("role", ["helper", "child"])
def test_everybody_reads_their_own_calendar_and_keepers_anybodys(
    world: World, finn: Member, stub: Stub, role: str
):
    other = world.add_member("Cara", role)
    mine = services.add(other, member_id=other.member.pk, address=address(stub, "/c"), **CHOSEN)
    theirs = add(world, finn, stub)
    with pytest.raises(NotAllowed):
        services.add(other, member_id=finn.pk, address=address(stub, "/d"), **CHOSEN)
    for act in (services.remove, services.again):
        with pytest.raises(NotFound):
            act(other, calendar_id=theirs.pk)
    assert [row.pk for row in queries.seen_by(other.member)] == [mine.pk]
    assert [row.pk for row in queries.seen_by(world.keeper)] == [mine.pk, theirs.pk]


def test_another_farms_calendar_is_not_found(world: World, elsewhere: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    with pytest.raises(NotFound):
        services.switch(elsewhere.by, calendar_id=row.pk, on=False)
    assert list(queries.seen_by(elsewhere.keeper)) == []


def test_titles_are_for_the_member_and_for_keepers_of_who_cannot_sign_in(
    world: World, finn: Member, stub: Stub
):
    cara = world.add_member("Cara", "helper").member
    finns, caras = add(world, finn, stub), add(world, cara, stub)
    assert queries.may_read_titles(world.keeper, finns)
    assert not queries.may_read_titles(world.keeper, caras)
    assert queries.may_read_titles(cara, caras)
    assert not queries.may_read_titles(cara, finns)


def test_an_hour_later_it_is_asked_for_what_is_new_alone(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    assert queries.due(NOON + HOUR - timedelta(seconds=1)) == []
    assert queries.due(NOON + HOUR) == [row.pk]
    stub.answer = always(304)
    assert refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)
    assert stub.asked[-1].headers["If-None-Match"] == '"a1"'
    row.refresh_from_db()
    assert (row.fetched_at, row.next_at, row.failure) == (NOON + HOUR, NOON + 2 * HOUR, "")
    assert days(finn) == [("05-04..05-06", row.uid)]
    assert not refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)  # it is not time


def test_after_a_week_it_is_read_whole_though_nothing_changed_there(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    refreshing.refresh(calendar_id=row.pk, now=NOON + timedelta(days=7))
    assert "If-None-Match" not in stub.asked[-1].headers
    row.refresh_from_db()
    assert row.read_on == TODAY + timedelta(days=7)


def test_days_follow_the_calendar_and_manual_ones_stay(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    aways.add(world.by, member_id=finn.pk, start=MAY_11, end=date(2026, 5, 12))
    has(
        stub, whole("1", date(2026, 5, 5), date(2026, 5, 7)), whole("2", date(2026, 5, 10), date(2026, 5, 12))
    )
    refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)
    assert days(finn) == [
        ("05-05..05-07", row.uid),
        ("05-10..05-10", row.uid),
        ("05-11..05-11", ""),
        ("05-12..05-12", row.uid),
    ]
    has(stub)
    refreshing.refresh(calendar_id=row.pk, now=NOON + 2 * HOUR)
    assert days(finn) == [("05-11..05-11", "")]


@pytest.mark.parametrize(
    "answer, why", [(always(500), "status"), (always(401), "refused"), (always(200, b"oops"), "calendar")]
)
def test_when_nothing_comes_the_days_stay_and_the_reason_is_kept(
    world: World, finn: Member, stub: Stub, answer, why: str
):
    row = add(world, finn, stub)
    stub.answer = answer
    now, waits = NOON, []
    for _try in range(7):
        now = OuterCalendar.objects.get().next_at
        assert not refreshing.refresh(calendar_id=row.pk, now=now)
        waits.append((OuterCalendar.objects.get().next_at - now) / HOUR)
    row.refresh_from_db()
    assert (row.failure, row.failed_at, row.fetched_at) == (why, now, NOON)
    assert waits == [1, 2, 4, 8, 16, 24, 24]
    assert days(finn) == [("05-04..05-06", row.uid)]
    has(stub, TRIP)
    assert refreshing.refresh(calendar_id=row.pk, now=row.next_at)
    row.refresh_from_db()
    assert (row.failure, row.failures, row.failed_at) == ("", 0, None)


def test_a_key_that_changed_is_a_reason_too(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    OuterCalendar.objects.update(address="garbage", seen="garbage")
    assert not refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)
    row.refresh_from_db()
    assert row.failure == "sealed"
    assert queries.reading_of_last(row) is None


def test_two_workers_ask_once(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    taken = OuterCalendar.objects.filter(pk=row.pk).update(next_at=NOON + HOUR + refreshing.TAKEN)
    assert taken
    assert not refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)
    assert len(stub.asked) == 1
    assert refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR + refreshing.TAKEN)


def test_what_is_changed_while_a_worker_reads_wins(world: World, finn: Member, stub: Stub, monkeypatch):
    row = add(world, finn, stub)
    real = asking.ask

    def slowly(*args, **kwargs):
        OuterCalendar.objects.filter(pk=row.pk).update(version=row.version + 1, spans=[], label="Mine")
        return real(*args, **kwargs)

    monkeypatch.setattr(asking, "ask", slowly)
    refreshing.refresh(calendar_id=row.pk, now=NOON + HOUR)
    row.refresh_from_db()
    assert (row.spans, row.label) == ([], "Mine")


def test_changing_what_counts_is_read_anew_and_followed(world: World, finn: Member, stub: Stub):
    has(stub, TRIP, whole("2", MAY_11, title="Bin day"))
    row = add(world, finn, stub)
    assert len(days(finn)) == 2
    chosen = CHOSEN | {"label": "School!", "without": "bin, ,  birthday "}
    found = services.read_with(world.by, row, **chosen).reading
    assert found.spans == ((MAY_4, date(2026, 5, 7)),)
    assert len(days(finn)) == 2  # only looked at
    services.change(world.by, calendar_id=row.pk, expected_version=row.version, **chosen)
    assert days(finn) == [("05-04..05-06", row.uid)]
    assert Away.objects.get().note == "School!"
    with pytest.raises(Stale):
        services.change(world.by, calendar_id=row.pk, expected_version=row.version, **CHOSEN)


@pytest.mark.parametrize(
    "field, value", [("counts", "some"), ("least_hours", 0), ("least_hours", 25), ("label", " ")]
)
def test_choices_that_cannot_be_are_refused_at_their_field(world, finn, stub: Stub, field: str, value):
    with pytest.raises(BadInput) as refused:
        add(world, finn, stub, **{field: value})
    assert list(refused.value.fields) == [field]
    assert stub.asked == []


def test_no_longer_used_its_days_to_come_go_and_those_that_began_end_today(
    world: World, finn: Member, stub: Stub
):
    has(stub, whole("1", TODAY, date(2026, 5, 6)), whole("2", MAY_11))
    row = add(world, finn, stub)
    later = actor(world.farm, world.keeper, NOON + timedelta(days=3))
    services.switch(later, calendar_id=row.pk, on=False)
    assert days(finn) == [("05-01..05-03", row.uid)]
    refreshing.settle(farm_id=world.farm.pk, now=later.now)
    assert days(finn) == [("05-01..05-03", row.uid)]
    assert queries.due(NOON + timedelta(days=9)) == []


def test_removed_it_takes_its_days_to_come_with_it(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    aways.add(world.by, member_id=finn.pk, start=MAY_11, end=date(2026, 5, 12))
    services.remove(world.by, calendar_id=row.pk)
    assert days(finn) == [("05-11..05-11", "")]
    assert OuterCalendar.objects.count() == 0
    with pytest.raises(NotFound):
        refreshing.refresh(calendar_id=row.pk, now=NOON)


def test_the_calendar_of_somebody_who_left_is_forgotten(world, finn, stub: Stub, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOON)
    row = add(world, finn, stub)
    members.leave(world.by, member_id=finn.pk)
    assert queries.due(NOON + HOUR) == []
    jobs_of_the_farm(world)
    assert not OuterCalendar.objects.filter(pk=row.pk).exists()


def test_after_manual_days_are_taken_back_the_calendars_own_come_back(world, finn, stub: Stub, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOON)
    row = add(world, finn, stub)
    mine = aways.add(world.by, member_id=finn.pk, start=MAY_4, end=date(2026, 5, 6))
    assert days(finn) == [("05-04..05-05", ""), ("05-06..05-06", row.uid)]
    aways.remove(world.by, away_id=mine.pk)
    jobs_of_the_farm(world)
    assert days(finn) == [("05-04..05-06", row.uid)]
    version = Farm.objects.get(pk=world.farm.pk).version
    jobs_of_the_farm(world)
    assert Farm.objects.get(pk=world.farm.pk).version == version


def test_nothing_of_it_is_undone_from_the_history(world: World, finn: Member, stub: Stub):
    add(world, finn, stub)
    has(stub)
    refreshing.refresh(calendar_id=OuterCalendar.objects.get().pk, now=NOON + HOUR)
    entries = HistoryEntry.objects.filter(noun="member", noun_id=finn.pk).exclude(verb="add member")
    assert {entry.verb for entry in entries} == {
        "add calendar for days away",
        "use calendar for days away",
        "days away by calendar",
    }
    assert not any(history.can_undo(entry) for entry in entries)


def test_pressing_for_it_asks_at_once_but_not_every_second(world: World, finn: Member, stub: Stub):
    row = add(world, finn, stub)
    with pytest.raises(BadInput, match="just now"):
        services.again(world.by, calendar_id=row.pk)
    soon = actor(world.farm, world.keeper, NOON + timedelta(minutes=2))
    assert services.again(soon, calendar_id=row.pk)
    assert len(stub.asked) == 2


def test_the_jobs_read_what_is_due_and_pass_over_what_is_gone(world, finn, stub: Stub, monkeypatch):
    row = add(world, finn, stub)
    sent = []
    monkeypatch.setattr(jobs.read_outer_calendar, "apply_async", lambda **said: sent.append(said["kwargs"]))
    monkeypatch.setattr(clock, "now", lambda: NOON + HOUR)
    assert jobs.read_outer_calendars() == 1
    assert sent == [{"calendar_id": row.pk}]
    has(stub)
    jobs.read_outer_calendar(calendar_id=row.pk)
    assert days(finn) == []
    jobs.read_outer_calendar(calendar_id=row.pk + 1)


def jobs_of_the_farm(world: World) -> None:
    """What is sent after every write."""
    calendar_jobs.refresh_calendars(farm_id=world.farm.pk)
