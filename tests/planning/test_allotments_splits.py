"""From which batch each line gets its birds: from as few as may be, live ones first, then those of the best age."""

from collections import Counter
from itertools import product

import pytest
from hypothesis import given, settings

from farm.planning.allotments import allot, splits
from farm.planning.allotments.flow import fill
from farm.planning.allotments.pool import pool
from farm.planning.exact.sharing_out import Choice, share_out
from tests.planning.allotment_world import TODAY, farms, line, supply


def shares(stock, wanted):
    return {(share.wanted, share.supply): share.birds for share in allot(stock, wanted, TODAY).shares}


def test_nobody_is_served_from_two_batches_who_could_be_from_one():
    stock = [supply("a", 6), supply("b", 4)]
    asked = [line("1", 4, priority=1), line("2", 6, priority=2)]
    assert shares(stock, asked) == {("1", "b"): 4, ("2", "a"): 6}


def test_live_birds_go_before_those_not_yet_hatched():
    stock = [supply("a", hatched=3), supply("b")]
    assert shares(stock, [line(birds=5, days=(5, 9))]) == {("1", "b"): 5}


def test_one_batch_that_is_due_goes_before_two_that_are_there():
    stock = [supply("a", 6, hatched=3), supply("b", 3), supply("c", 3)]
    assert shares(stock, [line(birds=6, days=(5, 9))]) == {("1", "a"): 6}


def test_of_two_batches_the_one_nearest_the_middle_of_the_ages_serves():
    stock = [supply("a", hatched=-40), supply("b", hatched=-29), supply("c", hatched=-21)]
    assert shares(stock, [line(birds=5, ages=(20, 40))]) == {("1", "b"): 5}


def test_both_sexes_of_a_batch_are_one_batch():
    stock = [supply("a", 6), supply("b", 4)]
    asked = [line("hens", 2, sex="female", priority=1), line("any", 4, priority=2)]
    assert len(shares(stock, asked)) == 2


def test_a_group_too_large_keeps_what_the_flow_found():
    question = pool([supply("a", 6), supply("b", 4)], [line("1", 4), line("2", 6)], TODAY)
    flow = fill(question)
    assert splits.share(question, flow, most_pairs=3) == flow.birds
    assert splits.share(question, flow, most_pairs=4) != flow.birds


@given(farms(most_supplies=4, most_lines=5))
def test_no_line_gains_or_loses_a_bird_by_being_shared_out_anew(farm):
    question = pool(*farm, TODAY)
    flow = fill(question)
    birds = splits.share(question, flow)
    for places, got in zip(question.by_line, flow.fills, strict=True):
        assert sum(birds[place] for place in places) == got
    for part, limit in enumerate(flow.limits):
        for bucket, most in enumerate(limit):
            later = (at for at in question.by_part[part] if question.pairs[at].bucket >= bucket)
            assert sum(birds[at] for at in later) <= most


# The model by itself, against trying everything


def worth(choices, birds):
    pairs = {
        (choice.line, choice.batch) for choice, given_birds in zip(choices, birds, strict=True) if given_birds
    }
    later = sum(given_birds for choice, given_birds in zip(choices, birds, strict=True) if choice.later)
    return (
        len(pairs),
        later,
        sum(choice.off * given_birds for choice, given_birds in zip(choices, birds, strict=True)),
    )


def best_by_trying(choices, fills, limits):
    best = None
    for birds in product(*(range(fills[choice.line] + 1) for choice in choices)):
        got = Counter()
        for choice, given_birds in zip(choices, birds, strict=True):
            got[choice.line] += given_birds
        within = all(
            sum(
                n
                for choice, n in zip(choices, birds, strict=True)
                if choice.source == source and choice.step >= step
            )
            <= most
            for source, limit in limits.items()
            for step, most in enumerate(limit)
        )
        if within and all(got[line] == birds for line, birds in fills.items()):
            best = min(filter(None, (best, worth(choices, birds))))
    return best


@settings(max_examples=100, deadline=None)
@given(farms(most_supplies=3, most_lines=3, most=4))
def test_no_other_way_to_share_out_is_better(farm):
    question = pool(*farm, TODAY)
    flow = fill(question)
    choices = [
        Choice(pair.line, pair.part, pair.bucket, ord(part.supply.key[-1]), not part.supply.live, pair.off)
        for pair in question.pairs
        if flow.fills[pair.line]
        for part in [question.parts[pair.part]]
    ]
    if not choices or len(choices) > 6:
        return
    fills = {choice.line: flow.fills[choice.line] for choice in choices}
    limits = {choice.source: flow.limits[choice.source] for choice in choices}
    found = share_out(choices, fills, limits, 10)
    assert worth(choices, found) == best_by_trying(choices, fills, limits)


def test_what_cannot_be_shared_out_is_not():
    assert share_out([Choice(0, 0, 0, 0, False, 0)], {0: 3}, {0: [2]}, 10) is None


@pytest.mark.parametrize("seconds", [0.0])
def test_without_time_there_is_no_answer_and_the_flows_own_stands(seconds, monkeypatch):
    monkeypatch.setattr(splits, "SECONDS", seconds)
    question = pool([supply("a", 6), supply("b", 4)], [line("1", 4), line("2", 6)], TODAY)
    flow = fill(question)
    assert splits.share(question, flow) == flow.birds
