"""The schema says all there is to say: OpenAPI 3.1, no untyped body, every problem, every header."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import Enum
from typing import Any, get_args

import pytest
from django.test import Client
from openapi_spec_validator import validate
from pydantic import BaseModel

from api.site import api

#: They send something out and wait for it, which a transaction must not do.
OUTWARD = {
    "post /api/v1/members/{member_id}/invitation/",
    "post /api/v1/webhooks/{webhook_id}/try/",
}


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return Client().get("/api/v1/schema/").json()


def operations(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, item in schema["paths"].items():
        for method, operation in item.items():
            yield f"{method} {path}", operation


def test_the_schema_is_valid_openapi_3_1(schema: dict[str, Any]):
    """Judge: openapi-spec-validator, against the OpenAPI Initiative's own JSON Schemas."""
    assert schema["openapi"].startswith("3.1")
    validate(schema)


def test_no_body_is_untyped(schema: dict[str, Any]):
    untyped = []
    for name, operation in operations(schema):
        bodies = [operation.get("requestBody"), *operation["responses"].values()]
        for body in filter(None, bodies):
            for media in body.get("content", {}).values():
                untyped += [name for found in _untyped(schema, media["schema"], set())]
    assert sorted(set(untyped)) == []


def _untyped(schema: dict[str, Any], part: Any, seen: set[str]) -> Iterator[Any]:
    """Find parts that say nothing of what they hold."""
    if "$ref" in part:
        name = part["$ref"].rsplit("/", 1)[-1]
        if name not in seen:
            seen.add(name)
            yield from _untyped(schema, schema["components"]["schemas"][name], seen)
        return
    deeper = part.get("anyOf", []) + part.get("allOf", []) + part.get("oneOf", [])
    if not deeper and not part.keys() & {"type", "enum", "const"}:
        yield part
    if part.get("type") == "object" and not part.keys() & {"properties", "additionalProperties"}:
        yield part
    if part.get("type") == "array" and "items" not in part:
        yield part
    more = part.get("additionalProperties")
    if more is True:
        yield part
    inner = [*deeper, *part.get("properties", {}).values()]
    inner += [part["items"]] if isinstance(part.get("items"), dict) else []
    inner += [more] if isinstance(more, dict) else []
    for one in inner:
        yield from _untyped(schema, one, seen)


def test_every_operation_has_a_name_words_and_its_problems(schema: dict[str, Any]):
    names = [operation["operationId"] for _name, operation in operations(schema)]
    assert len(names) == len(set(names))
    for name, operation in operations(schema):
        assert 8 < len(operation["summary"]) < 120, name
        assert len(operation["description"].split("\n")[0]) > 10, name
        assert {"401", "403", "404", "422", "429"} <= operation["responses"].keys(), name
        assert operation["security"], name
        refused = operation["responses"]["422"]["content"]
        assert list(refused) == ["application/problem+json"], name


def test_posts_take_a_key_and_changes_of_versioned_records_a_version(schema: dict[str, Any]):
    for name, operation in operations(schema):
        headers = {one["name"] for one in operation["parameters"] if one["in"] == "header"}
        keyed = name.startswith("post ") and name not in OUTWARD
        assert ("Idempotency-Key" in headers) == keyed, name
        assert ("If-Match" in headers) == ("428" in operation["responses"]), name


def test_the_pages_of_the_schema_come_from_this_server_alone():
    page = Client().get("/api/v1/docs/").content.decode()

    assert "swagger-ui-bundle.js" in page
    assert "//cdn" not in page
    assert "https://" not in page


def test_what_is_not_there_is_a_problem_too():
    reply = Client().get("/api/v1/feathers/")
    assert (reply.status_code, reply["Content-Type"]) == (404, "application/problem+json")

    reply = Client().delete("/api/v1/batches/")
    assert (reply.status_code, reply["Content-Type"]) == (405, "application/problem+json")
    assert sorted(reply["Allow"].split(", ")) == ["GET", "POST"]


def test_no_two_shapes_share_a_name():
    """The schema keeps one shape under each name: of two, one would be described as the other."""
    shapes: dict[str, set[str]] = {}
    for router in api._get_bound_routers():
        for view in router.path_operations.values():
            for operation in view.operations:
                bodies = [one for one in operation.models if one.__ninja_param_source__ == "body"]
                answers = [one for one in operation.response_models.values() if isinstance(one, type)]
                for shape in set(_shapes([*bodies, *answers], set())):
                    shapes.setdefault(shape.__name__, set()).add(f"{shape.__module__}.{shape.__qualname__}")

    shared = {
        name: places for name, places in shapes.items() if len(places) > 1 and not name.endswith("Params")
    }
    assert {name: places for name, places in shared.items() if name != "NinjaResponseSchema"} == {}


def _shapes(found: Iterable[Any], seen: set[Any]) -> Iterator[type]:
    for one in found:
        if isinstance(one, type) and issubclass(one, Enum):
            yield one
        elif isinstance(one, type) and issubclass(one, BaseModel) and one not in seen:
            seen.add(one)
            yield one
            yield from _shapes((field.annotation for field in one.model_fields.values()), seen)
        elif get_args(one):
            yield from _shapes(get_args(one), seen)


def test_every_operation_says_who_may():
    for router in api._get_bound_routers():
        for view in router.path_operations.values():
            for operation in view.operations:
                assert operation.view_func.api_role in ("child", "helper", "keeper")
                assert operation.view_func.api_scope in ("read", "record", "write", "people")
