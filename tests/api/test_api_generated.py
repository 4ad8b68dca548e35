"""Requests generated from the schema, for every operation: no mishap of ours, and every answer as the schema says.

Judge: schemathesis, which reads the schema, makes requests of it, right ones and wrong ones, and holds the answers
against it. What the world does not allow (a batch's rules, a taken name) is refused with problems the schema knows.
"""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest
import schemathesis
from hypothesis import given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.core import throttle
from farm.queries import soundness
from tests.api.schema_world import OPERATIONS, QUIETLY, aim, all_things, numbers, rows
from tests.architecture.addresses import Things
from tests.conftest import MOST_EXAMPLES, make_hollow_farm
from tests.replaying import Replay

pytestmark = pytest.mark.usefixtures("one_connection", "unplugged")
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
#: Of each mode. Where time is short, a fifth of what other properties get: each is a whole request.
EXAMPLES = max(MOST_EXAMPLES // 5, 2) if MOST_EXAMPLES else 40
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


#: Made once for all operations, and remembered by its rows: hundreds of them.
_furnished = Replay(lambda: all_things(make_hollow_farm()), numbers, rows)


@pytest.fixture
def found(db: None) -> Things:
    """Hollow Farm with one of each thing."""
    return _furnished()


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_every_answer_is_as_the_schema_says(
    label: str, found: Things, record_property: Any, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(throttle, "A_MINUTE", 10**9)
    answers: Counter[int] = Counter()
    for mode in MODES:
        answers += _tried(label, mode, found)

    assert soundness.problems(found["batch"].farm) == []
    record_property("generated requests", (label, dict(answers)))


def _tried(label: str, mode: GenerationMode, found: Things) -> Counter[int]:
    answers: Counter[int] = Counter()

    @settings(max_examples=EXAMPLES, **QUIETLY)
    @given(case=OPERATIONS[label].as_strategy(generation_mode=mode))
    def tried(case: schemathesis.Case) -> None:
        dice = random.Random(repr(case.body) + repr(case.path_parameters))
        aim(case, found, dice)
        answer = case.call(headers={"Authorization": f"Bearer {found['secret']}"} | _match(case, dice))
        answers[answer.status_code] += 1
        case.validate_response(answer, checks=CHECKS)

    tried()
    return answers


def _match(case: schemathesis.Case, dice: random.Random) -> dict[str, str]:
    """Mostly overwrite whatever is there: generated versions match nothing."""
    if case.method in ("PATCH", "PUT", "DELETE") and dice.random() < 0.8:
        return {"If-Match": "*"}
    return {}
