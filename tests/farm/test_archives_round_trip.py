"""A farm that is taken along and brought again is the same farm: rows, mentions, agenda, pictures, undo."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO

from PIL import Image

from farm.models import (
    Alert,
    Assignment,
    Batch,
    ChoreMark,
    Farm,
    HistoryEntry,
    Housing,
    Login,
    Machine,
    MarkPhoto,
    Member,
    OrderLine,
    OwnChore,
    Pin,
    Plan,
    Postponement,
    RearingProgramme,
    Supplier,
)
from farm.planning import problem, solution
from farm.planning.window import Window
from farm.queries import agenda, setting_proposals, soundness, stamps
from farm.services import chores, counts, demo, history, machines
from farm.services.actor import Actor
from tests.conftest import TODAY, World, actor
from tests.farm import archives_world as a
from tests.farm.proposals_world import chicks, propose, seller
from tests.farm.test_photos_service import picture


def beside(farm: Farm) -> Actor:
    return actor(farm, Member.objects.get(farm=farm, login__email=a.EMAIL))


def test_a_farm_with_one_of_everything_comes_back_the_same_beside_the_old_one(world: World):
    first = a.taken(a.everything(world))
    assert {noun for noun, rows in a.told(first).items() if not rows} == set()

    farm = a.brought(first)
    again = a.taken(World(farm=farm, keeper=beside(farm).member, by=beside(farm)))

    assert a.uncoded(a.without_import(a.told(again))) == a.uncoded(a.told(first))


def test_every_mention_of_a_number_means_the_new_farms_thing(world: World):
    farm = a.brought(a.taken(a.everything(world)))

    chore, batch, housing = (
        model.objects.get(farm=farm, **named)
        for model, named in (
            (OwnChore, {"title": "Birds, swept"}),
            (Batch, {"name": "Birds"}),
            (Housing, {"name": "Place"}),
        )
    )
    own = RearingProgramme.objects.get(farm=farm, name="Our ducks")
    assert Pin.objects.get(farm=farm).source == f"own:{chore.pk}/own_chore"
    assert Postponement.objects.get(farm=farm).source == f"own:{chore.pk}/own_chore"
    assert Member.objects.get(farm=farm, name="Ada").prefers == ["look", f"own:{chore.pk}"]
    assert Alert.objects.get(farm=farm).key == f"cold:{batch.pk}:{housing.pk}:2026-05-01"
    assert Supplier.objects.get(farm=farm, name="Neighbour").types == ["duck", str(own.pk)]
    sown = HistoryEntry.objects.get(farm=farm, noun="ownchore")
    assert sown.noun_id == chore.pk
    change = sown.changes.get()
    assert (change.row, change.after["id"], change.after["farm_id"]) == (chore.pk, chore.pk, farm.pk)


def test_on_an_empty_server_the_codes_on_printed_cards_stay(world: World):
    first = a.taken(a.everything(world))
    Farm.objects.all().delete()

    farm = a.brought(first)
    again = a.taken(World(farm=farm, keeper=beside(farm).member, by=beside(farm)))

    assert a.without_import(a.told(again)) == a.told(first)


def test_the_demo_farm_comes_back_the_same_and_its_agenda_with_it(db):
    now = datetime(2026, 7, 1, 10, tzinfo=UTC)
    planted = demo.plant(now=now)
    first = a.taken(World(farm=planted.farm, keeper=planted.keeper, by=planted.by))

    farm = a.brought(first)
    again = a.taken(World(farm=farm, keeper=beside(farm).member, by=beside(farm)))

    assert a.uncoded(a.without_import(a.told(again))) == a.uncoded(a.told(first))
    assert not farm.is_demo
    day = planted.by.today
    old, new = (agenda.for_farm(one, Window(day, 28), day) for one in (planted.farm, farm))
    assert [(one.due, one.round, str(one.title)) for one in new] == [
        (one.due, one.round, str(one.title)) for one in old
    ]
    # What is stored means what is worked out: as many ticks and turns meet their chore as on the old farm.
    assert met(farm, new) == met(planted.farm, old)
    assert len(met(farm, new)) > 1500


def met(farm: Farm, items) -> list[tuple]:
    due = {(one.source, one.due, one.round): str(one.title) for one in items}
    kept = [
        (row.source, row.due, row.round)
        for model in (Assignment, ChoreMark)
        for row in model.objects.filter(farm=farm).order_by("pk")
    ]
    return [(due[one], one[1], one[2]) for one in kept if one in due]


def test_nothing_of_the_old_farm_or_another_is_touched_or_pointed_to(world: World, elsewhere: World):
    elsewhere.add_housing("Far")
    first = a.taken(a.everything(world))
    before = a.told(first), a.told(a.taken(elsewhere))

    farm = a.brought(first)

    assert (a.told(a.taken(world)), a.told(a.taken(elsewhere))) == before
    assert soundness.problems(farm) == []
    mine = {noun: {row["id"] for row in a.rows_of(first, noun)} for noun in ("batch", "housing", "eggset")}
    new = a.taken(World(farm=farm, keeper=beside(farm).member, by=beside(farm)))
    for noun, old in mine.items():
        assert not old & {row["id"] for row in a.rows_of(new, noun)}


def test_what_was_done_can_be_undone_where_the_farm_is_now(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    farm = a.brought(a.taken(world))
    entry = HistoryEntry.objects.filter(farm=farm, noun="batch", verb__contains="count").first()

    history.undo(beside(farm), entry_id=entry.pk)

    here = Batch.objects.get(farm=farm)
    assert sum(here.count_entries.values_list("birds", flat=True)) == 40
    assert sum(batch.count_entries.values_list("birds", flat=True)) == 37


def test_a_batch_that_was_taken_away_comes_back_under_a_number_nobody_else_gets(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    undone = history.undo(world.by, entry_id=HistoryEntry.objects.filter(noun="batch").get().pk)
    farm = a.brought(a.taken(world))
    other = world.add_batch("Reds", housing="Brooder 2")
    theirs = HistoryEntry.objects.get(farm=farm, verb="undo")

    history.undo(beside(farm), entry_id=theirs.pk)

    back = Batch.objects.get(farm=farm)
    assert (back.name, sum(back.count_entries.values_list("birds", flat=True))) == ("Browns", 40)
    assert len({back.pk, other.pk, batch.pk}) == 3
    assert undone.farm_id == world.farm.pk


def test_the_history_says_that_it_was_imported_and_by_whom(world: World):
    farm = a.brought(a.taken(world))

    last = HistoryEntry.objects.filter(farm=farm).first()
    assert (last.summary, last.verb, str(last.member), last.login.email) == (
        "Imported from an archive of 2026-05-01",
        "bring farm",
        "Ada",
        a.EMAIL,
    )


def test_members_come_without_a_login_but_the_one_who_brings(world: World):
    world.add_member("Bo", "keeper")
    world.add_member("Cara", "helper")

    farm = a.brought(a.taken(world), as_member="Bo")

    kept = {row.name: row.login and row.login.email for row in Member.objects.filter(farm=farm)}
    assert kept == {"Ada": None, "Bo": a.EMAIL, "Cara": None}
    assert Login.objects.filter(memberships__farm=world.farm).count() == 3


def test_a_picture_comes_back_as_it_looked(world: World):
    mark = chores.mark(world.by, source="room:1/look", due=TODAY, round="morning", title="Look")
    MarkPhoto.objects.create(farm=world.farm, mark=mark, jpeg=picture(64, 48), at=world.by.now)

    farm = a.brought(a.taken(world))

    new = Image.open(BytesIO(bytes(MarkPhoto.objects.get(farm=farm).jpeg)))
    red, green, blue = new.getpixel((5, 5))
    assert new.size == (64, 48)
    assert (red > 245, green < 10, blue < 10) == (True, True, True)


def test_plans_can_be_read_and_hold_as_they_did(world: World):
    farm = a.brought(a.taken(a.everything(world)))

    old, new = (list(Plan.objects.filter(farm=one).order_by("pk")) for one in (world.farm, farm))
    assert len(new) == len(old) == 3
    for plan, known in zip(new, old, strict=True):
        asked = problem.from_json(plan.problem)
        assert asked.digest == plan.problem_digest
        assert {int(each.key) for each in asked.housings} <= pks(Housing, farm)
        if plan.solution is not None:
            assert solution.from_json(plan.solution).problem == asked.digest
        assert stamps.changed_since(plan) == stamps.changed_since(known)


def test_a_proposal_names_the_new_farms_lines_machines_and_suppliers(world: World):
    machines.add(world.by, name="Cabinet", does="both", medium_eggs=60)
    seller(world, types=["chicken_layer_brown"])
    chicks(world)
    propose(world)
    farm = a.brought(a.taken(world))

    (proposal,) = setting_proposals.recent(farm, 5)
    made = setting_proposals.content(proposal).proposal
    assert len(made.lines) == 1
    assert {int(key) for key in made.lines} == pks(OrderLine, farm)
    assert {int(one.setter) for one in made.sets} <= pks(Machine, farm)
    assert {int(one.supplier) for one in made.intakes} <= pks(Supplier, farm)
    assert len(made.sets) + len(made.intakes) == 1
    for one in (*made.sets, *made.intakes):
        assert set(one.lines) == set(made.lines)


def pks(model, farm: Farm) -> set[int]:
    return set(model.objects.filter(farm=farm).values_list("pk", flat=True))
