"""The measurement of backward planning: found by name, repeatable, and its plain rule is a fair one."""

from dataclasses import replace

from bench import __main__ as bench
from bench import ordering
from farm.planning.machines import conflicts
from farm.planning.ordering import propose
from tests.planning.ordering_world import loads


def test_it_is_a_measurement():
    assert "ordering" in bench.measurements()


def test_the_same_seed_makes_the_same_orders_and_another_seed_others():
    assert ordering.year(1, 12).wanted == ordering.year(1, 12).wanted != ordering.year(2, 12).wanted


def test_a_small_year_is_planned_by_the_rules_and_no_worse_than_one_set_each():
    need = replace(ordering.year(3, 14), tries=10)
    met, missing, sets = ordering.one_set_each(need)
    proposal = propose(need)
    assert conflicts(need.machines, loads(need, proposal)) == ()
    assert (proposal.short_birds, proposal.batches) <= (missing, sets)
    assert met <= sum(line.short_birds == 0 for line in proposal.lines.values())


def test_the_plain_rule_gives_back_all_the_room_it_took():
    need = ordering.year(3, 14)
    assert ordering.one_set_each(need) == ordering.one_set_each(need)
