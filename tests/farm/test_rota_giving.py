"""A keeper decides who does what: at once, in plain words where it can't be, and taken back like any other write."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Assignment, Away, RotaRules
from farm.planning import rota as engine
from farm.queries import rota as reads
from farm.services import chores, history, members, own_chores, postponing, rota, rota_giving
from farm.services.rota import rota_changed
from farm.services.writing import write
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused
from tests.farm.rota_world import able, adult, begin, key, people, pins, refresh, rows


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 2_000)


@pytest.fixture
def who(world: World):
    """Ada, Ben and Cara with a rota of a week."""
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    return found


def give(world: World, by, *keys, **more):
    return [str(each) for each in rota.give(world.by, occurrences=keys, member_id=by.member.pk, **more)]


def other(world: World, who, of):
    """Return the grown-up who is not on it."""
    return next(who[name] for name in ("Ada", "Ben") if who[name].member.pk not in rows(world)[of])


def two_hands(world: World, **more):
    """Return the occurrence of a chore of tomorrow that takes two."""
    chore = own_chores.add(world.by, title="Move the coop", start=day(1), minutes=20, two_people=True, **more)
    refresh(world)
    return f"own:{chore.pk}/own_chore", day(1), "morning"


def test_what_is_given_stands_at_once_and_after_working_out_anew(world, who):
    look = key(world, "look", 2)
    by = other(world, who, look)
    assert give(world, by, look) == []
    assert rows(world)[look] == (by.member.pk,)
    assert pins(world) == {(look, by.member.pk)}
    refresh(world)
    assert rows(world)[look] == (by.member.pk,)


def test_a_whole_round_is_one_line_of_history(world, who):
    evening = [k for k in rows(world) if k[1:] == (day(1), "evening")]
    give(world, who["Ben"], *evening)
    entry = newest()
    assert entry.summary.startswith(f"Ben does {len(evening)} chores from 2 May on: Brooder 1:")
    assert (entry.noun, entry.noun_id) == ("member", who["Ben"].member.pk)
    assert {rows(world)[k] for k in evening} == {(who["Ben"].member.pk,)}


def test_one_chore_is_told_by_its_title_and_day(world, who):
    give(world, who["Ben"], key(world, "look", 1))
    assert newest().summary == "Ben does Brooder 1: Look at the birds on 2 May"


def test_given_to_whoever_has_it_already_it_is_decided_and_no_row_changes(world, who):
    look = key(world, "look", 1)
    before = list(Assignment.objects.order_by("pk").values())
    had = next(by for by in who.values() if by.member.pk == rows(world)[look][0])
    give(world, had, look)
    assert list(Assignment.objects.order_by("pk").values()) == before
    assert pins(world) == {(look, had.member.pk)}


def test_given_on_to_a_third_the_first_decision_is_void(world, who):
    look = key(world, "look", 1)
    for name in ("Ben", "Ada", "Ben"):
        give(world, who[name], look)
    assert pins(world) == {(look, who["Ben"].member.pk)}


def test_a_child_is_refused_what_is_for_adults_and_what_is_not_for_children(world, who):
    ids = {"member_id": who["Cara"].member.pk}
    heat = refused(lambda: rota.give(world.by, occurrences=[key(world, "heat_check", 1)], **ids))
    assert heat == {"member": ["This is for adults only, not for Cara: Brooder 1: Check the heat."]}
    look = refused(lambda: rota.give(world.by, occurrences=[key(world, "look", 1)], **ids))
    assert look == {"member": ["This is not for a child like Cara: Brooder 1: Look at the birds."]}


@pytest.mark.parametrize(
    ("need", "column", "says"),
    [
        ("dosing", "can_dose", "Ben does not give medicine: Yard: Odd job."),
        ("slaughter", "can_slaughter", "Ben does not slaughter: Yard: Odd job."),
        ("lifting", "can_lift", "Ben does not lift heavy things: Yard: Odd job."),
        ("water", "can_water", "Ben does not carry water: Yard: Odd job."),
        ("heat", "can_heat", "Ben does not handle heat equipment: Yard: Odd job."),
    ],
)
def test_who_lacks_an_ability_is_refused_by_its_name(world, who, need, column, says):
    able(who["Ben"], **{column: False})
    chore = own_chores.add(world.by, title="Odd job", place="Yard", start=day(1), needs=[need], who="adult")
    job = f"own:{chore.pk}/own_chore", day(1), "morning"
    act = refused(lambda: rota.give(world.by, occurrences=[job], member_id=who["Ben"].member.pk))
    assert act == {"member": [says]}


def test_one_refused_chore_refuses_the_whole_round(world, who):
    morning = [k for k in rows(world) if k[1:] == (day(1), "morning")]
    act = refused(lambda: rota.give(world.by, occurrences=morning, member_id=who["Cara"].member.pk))
    assert list(act) == ["member"]


@pytest.fixture
def beside(world: World, who):
    """Tomorrow morning the heat is seen to already; Ben looks at the birds, young Dora cleans, Cara feeds."""
    heat, feed, look, clean = (
        key(world, job, 1) for job in ("heat_check", "feed_water", "look", "clean_drinkers")
    )
    chores.mark(world.by, source=heat[0], due=heat[1], round=heat[2], title="Heat", minutes=3)
    who["Dora"] = able(world.add_member("Dora", "helper"), can_heat=True)  # not grown up
    give(world, who["Ben"], look)
    give(world, who["Dora"], clean)
    give(world, who["Cara"], feed)
    assert {job.key for job in reads.problem(world.farm, TODAY).jobs if job.heated} >= {feed}
    return {"feed": feed, "look": look}


def test_a_child_is_never_left_alone_at_heat(world, who, beside):
    dora = who["Dora"].member.pk
    act = refused(lambda: rota.give(world.by, occurrences=[beside["look"]], member_id=dora))
    assert act == {
        "member": ["Cara would be alone with heat equipment at Brooder 1: Feed and water on 2 May."]
    }
    give(world, who["Ada"], beside["look"])


def test_a_child_is_given_nothing_at_heat_where_no_adult_is(world, who, beside):
    give(world, who["Ada"], beside["feed"])
    give(world, who["Dora"], beside["look"])
    cara = who["Cara"].member.pk
    act = refused(lambda: rota.give(world.by, occurrences=[beside["feed"]], member_id=cara))
    assert list(act) == ["member"]


def test_whoever_gets_what_they_did_not_wish_for_gets_it_with_a_word(world, who):
    able(who["Ben"], refuses=["look"], rounds=[], max_week_minutes=1)
    Away.objects.create(farm=world.farm, member=who["Ben"].member, start=day(2), end=day(3))
    look = [key(world, "look", offset) for offset in (1, 2)]
    assert give(world, who["Ben"], *look) == [
        "Ben is usually not there for this round on 2 May.",
        "Ben is away on 3 May.",
        _week(world, who),
    ]
    able(who["Ben"], rounds=list(range(21)), max_week_minutes=None)
    assert give(world, who["Ben"], look[0]) == ["Ben does not want this chore: Brooder 1: Look at the birds."]
    refresh(world)
    assert {rows(world)[k] for k in look} == {(who["Ben"].member.pk,)}


def _week(world, who):
    days = [day(n) for n in range(-4, 3)]  # Monday 27 April to Sunday 3 May
    minutes = sum(
        Assignment.objects.filter(member=who["Ben"].member, day__in=days).values_list("minutes", flat=True)
    )
    return f"Ben has {minutes} min in the week from 27 April and wanted 1 min at most."


def test_of_two_the_one_named_goes(world, who):
    adult(world, "Dora")
    move = two_hands(world)
    first, second = rows(world)[move]
    free = next(by for by in _grown(world) if by not in (first, second))
    rota.give(world.by, occurrences=[move], member_id=free, instead_of=first)
    assert set(rows(world)[move]) == {free, second}
    refresh(world)
    assert set(rows(world)[move]) == {free, second}


def test_of_two_the_one_nobody_decided_on_goes(world, who):
    adult(world, "Dora")
    move = two_hands(world)
    first, second = rows(world)[move]
    free = next(by for by in _grown(world) if by not in (first, second))
    rota.give(world.by, occurrences=[move], member_id=second)
    rota.give(world.by, occurrences=[move], member_id=free)
    assert set(rows(world)[move]) == {free, second}
    assert pins(world) == {(move, free), (move, second)}


def test_a_free_seat_of_two_is_taken_and_nobody_goes(world, who):
    able(who["Ben"], rounds=[])
    move = two_hands(world)
    assert rows(world)[move] == (who["Ada"].member.pk,)
    rota.give(world.by, occurrences=[move], member_id=who["Ben"].member.pk)
    assert set(rows(world)[move]) == {who["Ada"].member.pk, who["Ben"].member.pk}


def test_nobody_takes_two_seats_of_one_chore(world, who):
    move = two_hands(world)
    ada, ben = who["Ada"].member.pk, who["Ben"].member.pk
    act = refused(lambda: rota.give(world.by, occurrences=[move], member_id=ben, instead_of=ada))
    assert act == {"member": ["Ben does this already: Move the coop."]}


def _grown(world: World) -> list[int]:
    return [pk for pk, row in reads.members(world.farm).items() if row.adult]


def test_what_is_done_by_now_is_left_out_and_nothing_open_is_refused(world, who):
    done, still = key(world, "feed_water"), key(world, "feed_water", round="evening")
    chores.mark(world.by, source=done[0], due=done[1], round=done[2], title="Feed", minutes=5)
    give(world, who["Ben"], done, still)
    assert pins(world) == {(still, who["Ben"].member.pk)}
    ids = {"member_id": who["Ben"].member.pk}
    for gone in ([done], [], [("room:0/nothing", TODAY, "morning")], [key(world, "look", -1)]):
        act = refused(lambda gone=gone: rota.give(world.by, occurrences=gone, **ids))
        assert act == {"": ["Nothing of this is open any more. Open the page again."]}


def test_a_chore_put_off_is_given_on_its_new_day(world, who):
    (step,) = (
        job for job in reads.problem(world.farm, TODAY).jobs if job.job == "heat_lower" and job.day == TODAY
    )
    source, due, round = step.key
    postponing.put_off(world.by, source=source, due=due, round=round, to_due=day(1), to_round="evening")
    give(world, who["Ben"], step.key)
    (row,) = Assignment.objects.filter(source=source)
    assert (row.due, row.day, row.round, row.member) == (due, day(1), "morning", who["Ben"].member)
    refresh(world)
    assert rows(world)[step.key] == (who["Ben"].member.pk,)


def test_only_keepers_give_and_only_to_who_is_here(world, elsewhere, who):
    look = [key(world, "look", 1)]
    with pytest.raises(NotAllowed):
        rota.give(who["Ben"], occurrences=look, member_id=who["Ben"].member.pk)
    with pytest.raises(NotAllowed):
        rota.let_go(who["Ben"], occurrences=look)
    with pytest.raises(NotFound):
        rota.give(world.by, occurrences=look, member_id=elsewhere.keeper.pk)
    members.leave(world.by, member_id=who["Ben"].member.pk)
    with pytest.raises(NotFound):
        rota.give(world.by, occurrences=look, member_id=who["Ben"].member.pk)


def test_without_a_rota_nothing_is_given(world, who):
    rota.stop(world.by)
    with pytest.raises(BadInput, match="no rota"):
        give(world, who["Ben"], key(world, "look", 1))


def test_let_go_the_rota_decides_again(world, who):
    able(who["Ben"], refuses=["look"])
    look = key(world, "look", 1)
    give(world, who["Ben"], look)
    assert rota.let_go(world.by, occurrences=[look, key(world, "look", 2)]) == 1
    assert newest().summary == "Left to the rota again: 1 chore"
    assert pins(world) == set()
    refresh(world)
    assert rows(world)[look] != (who["Ben"].member.pk,)


def test_letting_go_what_nobody_decided_writes_nothing(world, who):
    entry = newest()
    assert rota.let_go(world.by, occurrences=[key(world, "look", 1)]) == 0
    assert newest() == entry


def test_days_away_end_what_was_decided_for_them(world, who):
    mine, later = key(world, "look", 1), key(world, "look", 4)
    give(world, who["Ben"], mine, later)
    with write(world.by, "add days away", role="keeper") as log:
        assert rota_giving.let_go_in(log, who["Ben"].member, day(0), day(3)) == 1
    assert pins(world) == {(later, who["Ben"].member.pk)}


def test_undone_it_is_as_it_was_before(world, who):
    before = rows(world)
    look = key(world, "look", 1)
    give(world, other(world, who, look), look)
    given = newest()
    assert history.can_undo(given)
    history.undo(world.by, entry_id=given.pk)
    assert (rows(world), pins(world)) == (before, set())
    history.undo(world.by, entry_id=newest().pk)
    assert len(pins(world)) == 1
    assert rows(world)[look] != before[look]


def test_undone_after_the_rota_was_worked_out_anew_that_chore_goes_back(world, who):
    look = key(world, "look", 1)
    had = rows(world)[look]
    give(world, other(world, who, look), look)
    given = newest()
    refresh(world)
    history.undo(world.by, entry_id=given.pk)
    assert (rows(world)[look], pins(world)) == (had, set())


def test_undone_after_the_day_is_over_the_record_stays(world, who):
    look = key(world, "look")
    by = other(world, who, look)
    give(world, by, look)
    had, entry = rows(world)[look], newest()
    ada = world.by
    tomorrow = type(ada)(ada.farm_id, ada.face, ada.now + timedelta(days=1), day(1), ada.member, ada.login)
    history.undo(tomorrow, entry_id=entry.pk)
    assert (rows(world)[look], pins(world)) == (had, set())


def test_undone_for_somebody_who_left_the_seat_stays_free_for_the_rota(world, who):
    look = key(world, "look", 1)
    give(world, who["Ben"], look)
    give(world, who["Ada"], look)
    second = newest()
    members.leave(world.by, member_id=who["Ben"].member.pk)
    with pytest.raises(Stale):
        history.undo(world.by, entry_id=newest().__class__.objects.filter(verb="give chores").last().pk)
    history.undo(world.by, entry_id=second.pk)
    assert look not in rows(world)
    refresh(world)
    assert rows(world)[look] == (who["Ada"].member.pk,)


def test_whoever_gives_is_named_to_those_who_are_told(world, who):
    heard = []

    def hear(sender, **said):
        heard.append(said)

    rota_changed.connect(hear)
    look = [k for k in rows(world) if k[1:] == (day(1), "evening")]
    by = other(world, who, key(world, "look", 1, "evening"))
    give(world, by, *look)
    rota_changed.disconnect(hear)
    (said,) = heard
    assert said["by_member"] == world.keeper.pk
    (cell,) = said["changes"]
    assert (cell.day, cell.round, cell.group) == (day(1), "evening", "Brooder 1")
    assert cell.after == (str(by.member.pk),)


def test_what_was_decided_never_breaks_a_rule(world, who):
    for offset in range(3):
        give(world, who["Ben"], key(world, "look", offset), key(world, "heat_check", offset))
    RotaRules.objects.update(made_of="")
    refresh(world)
    asked = reads.problem(world.farm, TODAY)
    assert engine.check(asked, asked.previous) == ()
