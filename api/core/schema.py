"""The API object, and its OpenAPI 3.1 schema made whole: problems, keys and versions stand beside every operation."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpRequest
from django.utils.translation import get_language
from ninja import NinjaAPI
from ninja.errors import HttpError
from ninja.openapi.schema import OpenAPISchema
from ninja.operation import Operation
from ninja.parser import Parser
from ninja.types import DictStrAny

from api.core import door, keys, problems

_ALWAYS = ("nobody", "not-allowed", "not-found", "bad-input", "too-many", "mishap", "busy")
_WRITES = ("unreadable", "changed-since", "too-large")
_REF = {"schema": {"$ref": "#/components/schemas/Problem"}}


class JsonParser(Parser):
    """Reads bodies; what can't be read is a problem, however it can't."""

    def parse_body(self, request: HttpRequest) -> DictStrAny:
        """Return the body's JSON. Raises HttpError."""
        try:
            return json.loads(request.body, parse_constant=_no_number)
        except (ValueError, RecursionError) as error:
            raise HttpError(400, "The body is not JSON in UTF-8.") from error


def _no_number(name: str) -> None:
    raise ValueError(name)


class Api(NinjaAPI):
    """The API. Every operation passes the door; every error leaves as a problem."""

    def __init__(self, **details: Any) -> None:
        super().__init__(parser=JsonParser(), **details)
        self._schemas: dict[tuple[str | None, str | None], OpenAPISchema] = {}
        for kind, handler in problems.HANDLERS.items():
            self.add_exception_handler(kind, handler)
        self.add_decorator(door.through(self.on_exception), mode="view")

    def get_openapi_operation_id(self, operation: Operation) -> str:
        """Name an operation as its function is called."""
        return operation.view_func.__name__

    def get_openapi_schema(
        self, *, path_prefix: str | None = None, path_params: DictStrAny | None = None
    ) -> OpenAPISchema:
        """Return the schema with what all operations share; made once for each address and language."""
        if path_params:
            return self._made(path_prefix, path_params)
        key = (path_prefix, get_language())
        if key not in self._schemas:
            self._schemas[key] = self._made(path_prefix, None)
        return self._schemas[key]

    def _made(self, path_prefix: str | None, path_params: DictStrAny | None) -> OpenAPISchema:
        schema = super().get_openapi_schema(path_prefix=path_prefix, path_params=path_params)
        made = problems.Problem.model_json_schema(
            ref_template="#/components/schemas/{model}", mode="serialization"
        )
        schema["components"]["schemas"].update(made.pop("$defs", {}) | {"Problem": made})
        needed = _needed(self)
        for path in schema["paths"].values():
            for method, operation in path.items():
                _complete(method, operation, needed[operation["operationId"]])
        return schema


def _needed(api: NinjaAPI) -> dict[str, Any]:
    """Return each operation's function, which says who may use it."""
    found = {}
    for router in api._get_bound_routers():
        for view in router.path_operations.values():
            for operation in view.operations:
                found[api.get_openapi_operation_id(operation)] = operation.view_func
    return found


def _complete(method: str, operation: dict[str, Any], view: Any) -> None:
    kinds = [*_ALWAYS, *(_WRITES if method != "get" else ())]
    parameters = operation.setdefault("parameters", [])
    if method == "post" and not view.api_outward:
        parameters.append(_header(keys.HEADER, "Sent twice under one key, a write is done once.", False))
    if method in ("patch", "put", "delete") and view.api_versioned:
        parameters.append(_header("If-Match", "The ETag of the record as you know it, or *.", False))
        kinds += ["version-differs", "version-missing"]
    if method == "get":
        parameters.append(_header("If-None-Match", "An ETag you have the answer of.", False))
        operation["responses"].setdefault(304, {"description": "You have it already."})
    for kind in kinds:
        status, title, _advice = problems.KINDS[kind]
        operation["responses"].setdefault(
            status, {"description": str(title), "content": {problems.MEDIA_TYPE: _REF}}
        )
    role, scope = view.api_role, view.api_scope
    # The docstring's first sentence, where the function's name was: "Start a batch".
    operation["summary"] = operation["description"].split("\n")[0].partition(". ")[0].rstrip(".")
    operation["description"] = (
        f"{operation.get('description', '')}\n\nFor: {role} and above; tokens with the scope `{scope}`."
    ).strip()
    operation["x-role"], operation["x-scope"] = str(role), str(scope)


def _header(name: str, description: str, required: bool) -> dict[str, Any]:
    return {
        "in": "header",
        "name": name,
        "required": required,
        "description": description,
        "schema": {"type": "string", "maxLength": 200},
    }
