"""From the agenda to entries: steps on their day, rounds with their checklist, words a person can act on."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from calendars.entries import entries
from calendars.ics.text import TEXT_CAP
from farm.phrase import Phrase, Quantity
from farm.trade.cautions import DEFERRAL, cautions
from tests.calendars.cases import STAMP, item, reader, step

DAY = date(2026, 5, 9)


def written(*items, marks=None, **changes):
    return entries(items, marks or {}, reader(**changes), STAMP)


def test_a_step_is_an_all_day_event_on_its_day():
    (entry,) = written(step())
    assert (entry.all_day, entry.start, entry.end) == (True, DAY, DAY + timedelta(days=1))
    assert (entry.summary, entry.location) == ("Brooder 1: 32 → 29 °C", "Brooder 1")
    assert entry.transparent


def test_a_steps_identity_is_its_source_so_that_another_day_moves_it():
    (one,), (other,) = written(step()), written(step(due=DAY + timedelta(days=3)))
    assert one.uid == other.uid == "step:batch:7/heat_lower/14@hollow"


def test_a_source_that_comes_twice_makes_two_identities():
    found = written(step(), step(due=DAY + timedelta(days=7)))
    assert [entry.uid for entry in found] == [
        "step:batch:7/heat_lower/14/2026-05-09@hollow",
        "step:batch:7/heat_lower/14/2026-05-16@hollow",
    ]


def test_a_steps_body_says_why_the_numbers_and_the_source_and_ends_with_the_deferral():
    (entry,) = written(
        step(
            why=Phrase("They need %(temp)s", {"temp": Quantity(29.4, "degC")}),
            until=DAY + timedelta(days=7),
            people=2,
            cautions=("heat_lamp", "cord"),
            checklist=(Phrase("Raise the lamp"),),
        )
    )
    lines = entry.description.split("\n")
    assert lines[:5] == [
        "Why: They need 29.4 °C",
        "day 14 of age (week 3) · 5 min · 2 people · adults only",
        "Any day until 15 May.",
        "Source: common practice, no source",
        "",
    ]
    assert "- Raise the lamp" in lines
    assert lines[-1].endswith(DEFERRAL)


def test_quantities_are_said_in_the_farms_units():
    (entry,) = written(
        step(title=Phrase("Down to %(temp)s", {"temp": Quantity(29.4, "degC", 0)})), system="us"
    )
    assert entry.summary == "Down to 85 °F"


def test_a_source_key_is_named_in_words():
    (entry,) = written(step(source_key="PSU2023"))
    assert "PSU2023" not in entry.description
    assert "Source: Penn State" in entry.description


def test_the_chores_of_a_round_are_one_timed_event_with_a_checklist():
    (entry,) = written(
        item(), item(source="room:1/look", title=Phrase("Brooder 1: Look at the birds"), minutes=4)
    )
    assert entry.summary == "Morning round · 2 chores · 12 min"
    assert (
        entry.description == "[ ] Brooder 1: Feed and water, 8 min\n[ ] Brooder 1: Look at the birds, 4 min"
    )
    assert (entry.start, entry.end) == (
        datetime(2026, 5, 9, 5, tzinfo=UTC),
        datetime(2026, 5, 9, 5, 12, tzinfo=UTC),
    )


def test_each_round_and_day_has_its_own_event_at_the_farms_time():
    found = written(
        item(),
        item(round="midday"),
        item(round="evening"),
        item(due=DAY + timedelta(days=1)),
        round_times={"morning": time(6, 15), "midday": time(12), "evening": time(20)},
    )
    assert [entry.start.strftime("%d %H:%M") for entry in found] == [
        "09 04:15",
        "09 10:00",
        "09 18:00",
        "10 04:15",
    ]


def test_a_round_lasts_ten_minutes_at_least():
    (entry,) = written(item(minutes=2))
    assert entry.end - entry.start == timedelta(minutes=10)


def test_a_ticked_chore_is_ticked_in_the_checklist_and_the_round_stays_open():
    done, open_ = item(), item(source="room:1/look")
    (entry,) = written(done, open_, marks={done.occurrence: "done"})
    assert entry.description.split("\n")[0] == "[x] Brooder 1: Feed and water, 8 min"
    assert entry.summary == "Morning round · 2 chores · 16 min"


def test_a_round_is_done_when_all_of_it_is_ticked_or_left_out():
    one, two = item(), item(source="room:1/look")
    (entry,) = written(one, two, marks={one.occurrence: "done", two.occurrence: "skipped"})
    assert entry.summary == "✓ Morning round · 2 chores · 16 min"
    assert entry.description.split("\n")[1] == "[-] Brooder 1: Feed and water (left out)"


def test_a_mark_of_another_day_ticks_nothing():
    (entry,) = written(step(), marks={("batch:7/heat_lower/14", DAY - timedelta(days=1), "morning"): "done"})
    assert entry.summary == "Brooder 1: 32 → 29 °C"


@pytest.mark.parametrize(
    "state, title", [("done", "✓ Brooder 1: 32 → 29 °C"), ("skipped", "Left out: Brooder 1: 32 → 29 °C")]
)
def test_a_marked_step_says_so_and_keeps_its_place(state, title):
    (entry,) = written(step(), marks={step().occurrence: state})
    assert (entry.summary, entry.status, entry.start) == (title, "CONFIRMED", DAY)


def test_a_reader_sees_what_they_may_do_and_nothing_else():
    found = written(
        step(),
        item(),
        item(who="helper", source="room:1/look"),
        shows=lambda item: item.who == "child",
        name="m3",
    )
    assert [(entry.uid, entry.summary) for entry in found] == [
        ("round:2026-05-09/morning/m3@hollow", "Morning round · 1 chore · 8 min")
    ]


def test_a_round_opens_the_page_of_its_day_and_a_step_the_batch_it_is_about():
    assert [entry.url for entry in written(step(), item())] == [
        "https://hens.example/batches/7/",
        "https://hens.example/?day=2026-05-09",
    ]


def test_a_long_checklist_gives_way_to_the_cautions_and_says_so():
    chores = [
        item(source=f"room:{n}/feed_water", title=Phrase(f"Pen {n}: " + "x" * 60), cautions=("hygiene",))
        for n in range(99)
    ]
    (entry,) = written(*chores)
    assert len(entry.description) <= TEXT_CAP
    assert "more lines on the page" in entry.description
    assert entry.description.endswith(DEFERRAL)


@pytest.mark.parametrize("make", [item, step])
def test_all_cautions_at_once_are_said_in_full_or_named_and_still_end_with_the_deferral(make):
    (entry,) = written(make(cautions=tuple(cautions())))
    said = entry.description
    assert all(caution.text.split(";")[0] in said or caution.title in said for caution in cautions().values())
    assert (said.count(DEFERRAL), said.endswith(DEFERRAL), len(said) <= TEXT_CAP) == (1, True, True)


def test_what_can_burn_a_house_down_is_said_in_full_in_a_round_whatever_else_there_is():
    (entry,) = written(item(cautions=("hygiene", "children", "dust", "cord", "heat_lamp")))
    assert "Hang each by two independent fixings" in entry.description
    assert "no chained extension cords" in entry.description
    assert "Read on the page too: Wash your hands" in entry.description


def test_one_item_that_cannot_be_said_is_left_out_and_the_rest_is_written(caplog):
    bad = Phrase("%(missing)s", {"other": 1})
    found = written(
        step(title=bad), step(source="batch:7/grit/21"), item(title=bad), item(source="room:1/look")
    )
    assert [entry.summary for entry in found] == ["Brooder 1: 32 → 29 °C", "Morning round · 1 chore · 8 min"]
    assert [record.getMessage().split(" could")[0] for record in caplog.records] == [
        "step batch:7/heat_lower/14", "chore room:1/feed_water",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "day, at, utc",
    [
        (
            date(2026, 3, 29),
            time(2, 30),
            datetime(2026, 3, 29, 1, 30, tzinfo=UTC),
        ),  # skipped: read as 03:30 summer time
        (date(2026, 3, 29), time(7), datetime(2026, 3, 29, 5, tzinfo=UTC)),
        (date(2026, 10, 25), time(2, 30), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),  # repeated: the first
        (date(2026, 10, 25), time(7), datetime(2026, 10, 25, 6, tzinfo=UTC)),
    ],
)
def test_on_the_day_the_clocks_change_a_round_keeps_its_time_on_the_wall(day, at, utc):
    (entry,) = written(item(due=day), round_times={"morning": at})
    assert (entry.start, entry.end) == (utc, utc + timedelta(minutes=10))
