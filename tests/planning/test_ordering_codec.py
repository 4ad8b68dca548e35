"""A proposal kept as JSON comes back as it was."""

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.phrase import Phrase, Quantity
from farm.planning.codec import ReadingError
from farm.planning.ordering import LineAnswer, Proposal, Way, propose
from farm.planning.ordering.codec import Content, from_json, to_json
from farm.planning.solution import PlanStay
from tests.planning.ordering_world import Pens, day, line, machine, need, supplier


def kept(proposal, **changes):
    known = {"choices": {"meat": "chicken_meat"}, "covered": 3, "later": 1, "confidence": 0.9, "entry": 17}
    return Content(proposal, **{**known, **changes})


def again(content):
    return from_json(json.loads(json.dumps(to_json(content))))


class Housed(Pens):
    def stays(self, taken):
        return PlanStay("7", day(21), day(28)), PlanStay("9", day(28), day(31))


def test_sets_intakes_and_lines_come_back_with_their_reasons_and_ways():
    lines = line("1"), line("2", birds=900), line("3", 12, 14, type="bought"), line("4", 3, 4)
    asked = need(
        *lines, rooms=Housed(), suppliers=(supplier(types=frozenset({"bought"})),), machines=(machine(),)
    )
    proposal = propose(asked)
    assert proposal.sets
    assert proposal.intakes
    assert any(answer.ways for answer in proposal.lines.values())
    assert again(kept(proposal)) == kept(proposal)
    assert again(kept(proposal)).proposal.sets[0].stays == Housed().stays(None)


def test_nothing_proposed_comes_back_as_nothing():
    content = kept(Proposal((), (), {}, 0, "none"), choices={})
    assert again(content) == content


plain = st.one_of(
    st.text(max_size=9),
    st.integers(-9, 9),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    st.builds(Quantity, st.floats(-9, 9), st.sampled_from(("m2", "degC")), st.integers(0, 3), st.booleans()),
)
names = st.text("abc", min_size=1, max_size=3)


def phrases(values):
    return st.builds(
        Phrase, st.text(max_size=9), st.dictionaries(names, values, max_size=3), st.text(max_size=3)
    )


@given(phrases(st.one_of(plain, phrases(plain))))
def test_every_phrase_comes_back_with_values_of_the_same_kind(phrase):
    answer = LineAnswer(9, 0.5, 4.5, 3, phrase, (Way("later", phrase),))
    back = again(kept(Proposal((), (), {"1": answer}, 0, ""))).proposal.lines["1"]
    assert back == answer
    assert {name: type(value) for name, value in back.why.values.items()} == {
        name: type(value) for name, value in phrase.values.items()
    }


def test_another_version_is_refused():
    data = to_json(kept(Proposal((), (), {}, 0, "")))
    with pytest.raises(ReadingError, match="version"):
        from_json({**data, "version": 2})


@pytest.mark.parametrize(
    "damage", ({"sets": [{}]}, {"lines": []}, {"intakes": [{"day": "soon"}]}, {"entry": ...})
)
def test_what_is_no_proposal_is_refused(damage):
    data = {**to_json(kept(Proposal((), (), {}, 0, ""))), **damage}
    with pytest.raises(ReadingError):
        from_json({name: value for name, value in data.items() if value is not ...})
