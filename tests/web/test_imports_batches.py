"""Importing batches with their birds and first housing, and what the preview says of the board."""

from datetime import date

from farm.models import Batch, CountEntry, HistoryEntry, Stay
from farm.services import programmes
from tests.web.test_imports_housing import cell, page  # noqa: F401  (the fixture)

TABLE = (
    "batch\tprogramme\tbirds\thatched\tarrived\tlives in\tuntil\tfrom\n"
    "Spring\tBrown layer chicken\t40\t2026-04-20\t2026-04-21\tbrooder 1\t1.6.2026\thatchery\n"
    "Ponds\tduck\t12\t21.4.2026\t\tBrooder 2\t\town hatch\n"
)


def breaches(answer):
    return [str(text) for text in answer.context["looked"].trial.new]


def test_a_row_starts_the_batch_its_ledger_and_its_first_stay(page, world):  # noqa: F811
    page.save(TABLE, what="batches")
    spring = Batch.objects.get(name="Spring")
    assert (spring.species, spring.hatch_day, spring.arrived_on) == (
        "chicken",
        date(2026, 4, 20),
        date(2026, 4, 21),
    )
    assert list(CountEntry.objects.filter(batch=spring).values_list("kind", "birds")) == [("arrived", 40)]
    stay = Stay.objects.get(batch=spring)
    assert (stay.housing.name, stay.birds, stay.start, stay.end) == (
        "Brooder 1",
        40,
        date(2026, 4, 21),
        date(2026, 6, 1),
    )


def test_an_own_hatch_is_counted_as_hatched_on_its_hatch_day(page, world):  # noqa: F811
    page.save(TABLE, what="batches")
    entry = CountEntry.objects.get(batch__name="Ponds")
    assert (entry.kind, entry.birds, entry.day) == ("hatched", 12, date(2026, 4, 21))


def test_two_batches_are_one_entry_of_the_history(page, world):  # noqa: F811
    before = HistoryEntry.objects.count()
    page.save(TABLE, what="batches")
    assert HistoryEntry.objects.count() == before + 1
    assert HistoryEntry.objects.first().summary == "2 batches imported"


def test_the_preview_says_what_would_not_fit_and_keeps_nothing(page, world):  # noqa: F811
    table = "name,programme,birds,hatch day,housing\nMany,chicken_layer_brown,60,2026-04-28,Brooder 2\n"
    answer = page(table, what="batches")
    assert any("Brooder 2" in text and "short" in text for text in breaches(answer))
    assert not Batch.objects.exists()
    assert HistoryEntry.objects.filter(verb="import batches").count() == 0


def test_what_is_broken_today_already_is_not_called_new(page, world):  # noqa: F811
    world.add_batch("Too many", birds=80, housing="Brooder 2")
    table = "name,programme,birds,hatch day,housing,leaves on\nFew,quail_layer,5,2026-04-28,Brooder 1,2026-05-20\n"
    assert breaches(page(table, what="batches")) == []


def test_a_housing_the_farm_has_not_is_refused_at_its_cell(page, world):  # noqa: F811
    answer = page(TABLE.replace("brooder 1", "Brooder 9"), what="batches")
    assert cell(answer, 2, "housing").problems == ["There is no housing called “Brooder 9”. Add it first."]
    assert cell(answer, 3, "housing").problems == []


def test_another_farms_housing_is_no_housing_here(page, world, elsewhere):  # noqa: F811
    elsewhere.add_housing("Far brooder")
    answer = page(TABLE.replace("brooder 1", "Far brooder"), what="batches")
    assert cell(answer, 2, "housing").problems == ["There is no housing called “Far brooder”. Add it first."]


def test_heat_needing_birds_in_a_cold_pen_need_a_reason_at_the_row(page, world):  # noqa: F811
    answer = page.save(TABLE.replace("brooder 1", "Pen 1"), what="batches")
    row = answer.context["looked"].preview.rows[0]
    assert any("has no heat" in text for text in row.problems)
    assert not Batch.objects.exists()


def test_complaints_of_several_rows_come_together(page, world):  # noqa: F811
    text = TABLE.replace("40\t", "0\t").replace("duck", "dodo")
    answer = page(text, what="batches")
    assert cell(answer, 2, "birds").problems == ["Enter a whole number from 1 to 5000."]
    assert "“dodo” is not known here" in cell(answer, 3, "programme").problems[0]


def test_an_arrival_before_the_hatch_is_refused_at_the_arrival(page, world):  # noqa: F811
    answer = page(TABLE.replace("2026-04-21", "2026-04-01"), what="batches")
    assert cell(answer, 2, "arrived_on").problems == ["Birds cannot arrive before they hatch."]


def test_a_batch_without_housing_is_imported_and_said_to_be_without(page, world):  # noqa: F811
    answer = page("name,programme,birds,hatch day\nLoose,duck,3,2026-04-28\n", what="batches")
    assert any("housing" in text.lower() for text in breaches(answer))
    page.save("name,programme,birds,hatch day\nLoose,duck,3,2026-04-28\n", what="batches")
    assert not Stay.objects.filter(batch__name="Loose").exists()


def test_a_farms_own_programme_is_known_by_its_name(page, world):  # noqa: F811
    programmes.copy(world.by, source="duck", name="Our ducks")
    page.save("name,programme,birds,hatch day\nPair,our DUCKS,2,2026-04-28\n", what="batches")
    assert Batch.objects.get(name="Pair").programme_version.programme.name == "Our ducks"


def test_a_us_farm_reads_slashes_month_first(page, world):  # noqa: F811
    world.farm.units = "us"
    world.farm.save()
    page.save("name,programme,birds,hatch day\nPair,duck,2,5/9/2026\n", what="batches")
    assert Batch.objects.get(name="Pair").hatch_day == date(2026, 5, 9)


def test_a_metric_farm_reads_slashes_day_first(page, world):  # noqa: F811
    page.save("name,programme,birds,hatch day\nPair,duck,2,5/9/2026\n", what="batches")
    assert Batch.objects.get(name="Pair").hatch_day == date(2026, 9, 5)


def test_rows_that_read_well_are_judged_although_another_does_not(page, world):  # noqa: F811
    text = TABLE.replace("40\t", "forty\t").replace("Brooder 2", "Nowhere")
    answer = page(text, what="batches")
    assert cell(answer, 2, "birds").problems == ["“forty” is not a number."]
    assert cell(answer, 3, "housing").problems == ["There is no housing called “Nowhere”. Add it first."]
    assert answer.context["looked"].trial is None
