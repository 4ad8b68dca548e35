"""Tokens over the API: listed and switched off. They are made on the page alone, by somebody who is signed in."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from ninja import Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page, Paging
from api.core.shapes import Id
from api.models import ApiToken, Scope
from api.services import tokens
from farm.models.member import Role

router = Router(tags=["Tokens and webhooks"])


class TokenOut(Schema):
    """A token that opens this farm. The token itself is kept nowhere."""

    id: int
    label: str
    member_id: int
    scopes: list[Scope]
    created_at: datetime
    expires_at: datetime
    last_used_on: date | None


@router.get("/", response=Page[TokenOut])
@needs(Role.HELPER, Scope.PEOPLE)
def list_tokens(request: ApiRequest, query: Query[Paging]) -> dict[str, Any]:
    """List the tokens that are switched on: a keeper all of the farm, others their own."""
    return pages.of(tokens.seen_by(request.caller.by), query, _shape)


@router.delete("/{token_id}/", response={204: None})
@needs(Role.HELPER, Scope.PEOPLE)
def switch_token_off(request: ApiRequest, token_id: Id) -> Status:
    """Switch a token off at once."""
    tokens.revoke(request.caller.by, token_id=token_id)
    return Status(204, None)


def _shape(token: ApiToken) -> dict[str, Any]:
    names = ("id", "label", "member_id", "scopes", "created_at", "expires_at", "last_used_on")
    return {name: getattr(token, name) for name in names}
