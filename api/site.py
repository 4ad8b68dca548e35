"""The API put together: every noun at its address."""

from __future__ import annotations

from csp.constants import SELF
from csp.decorators import csp_update
from ninja.openapi.docs import Swagger

from api.core.callers import SessionAuth, TokenAuth
from api.core.schema import Api

DESCRIPTION = """\
Everything the pages do, for other programs, through the same services.

**Who asks.** A token, `Authorization: Bearer fd_…`, opens one farm in the name of one member; keepers and helpers make
theirs under Settings, API. The pages themselves use their session, with the CSRF token as `X-CSRFToken`.

**Writes.** `POST` takes an `Idempotency-Key`: sent twice, it is done once. `PATCH`, `PUT` and `DELETE` of what has a
version need `If-Match` with the `ETag` you read. Every write is one line of the farm's history and can be undone.

**Lists** come a page at a time: send `next` as `cursor`.

**Problems** are `application/problem+json` (RFC 9457); `errors` says which field is to blame.

**Units** are SI, days are the farm's local dates, instants are UTC. Numbers of birds, room and heat are plans and
estimates; local codes, labels and the vet come first.
"""

api = Api(
    title="Featherdays",
    version="1",
    description=DESCRIPTION,
    urls_namespace="api-1",
    openapi_url="/schema/",
    docs=Swagger({"deepLinking": False, "docExpansion": "none", "filter": True, "tagsSorter": "alpha"}),
    docs_url="/docs/",
    docs_decorator=csp_update({"img-src": [SELF, "data:"]}),  # its style sheet holds its own small pictures
    auth=[TokenAuth(), SessionAuth()],
)

#: Address -> where its router is. By name, so that packages above this one can add theirs.
NOUNS = {
    "/alerts/": "api.alerts.router",
    "/batches/{batch_id}/waits/": "api.waits.of_batch",
    "/members/{member_id}/links/": "api.personal_links.of_member",
    "/personal-links/": "api.personal_links.router",
    "/waits/": "api.waits.router",
    "/batches/{batch_id}/advice/": "api.advice.of_batch",
    "/climate/": "api.climate.router",
    "/feed-entries/": "api.feed_entries.router",
    "/feed/": "api.feeds.ahead",
    "/feeds/": "api.feeds.router",
    "/feeds/{feed_id}/entries/": "api.feed_entries.of_feed",
    "/housing/{housing_id}/light/": "api.advice.of_housing",
    "/outlook/": "api.climate.outlook",
    "/changes/": "api.changes.router",
    "/history/": "api.history.router",
    "/aways/": "api.aways.router",
    "/farm/": "api.farms.router",
    "/farms/": "api.farms.mine",
    "/machines/": "api.machines.router",
    "/members/": "api.members.router",
    "/members/{member_id}/aways/": "api.aways.of_member",
    "/members/{member_id}/reminders/": "api.reminders.router",
    "/programme-versions/": "api.programmes.by_version",
    "/programmes/": "api.programmes.router",
    "/batches/": "api.batches.router",
    "/plans/": "api.plans.router",
    "/shortfalls/": "api.shortfalls.router",
    "/headroom/": "api.headroom.router",
    "/what-if/": "api.headroom.what_if",
    "/occurrences/": "api.occurrences.router",
    "/chores/": "api.chores.router",
    "/rota/": "api.rota.router",
    "/swaps/": "api.swaps.router",
    "/orders/": "api.orders.router",
    "/customers/": "api.orders.customers_router",
    "/hand-overs/": "api.hand_overs.router",
    "/holds/": "api.holds.router",
    "/order-series/": "api.order_series.router",
    "/egg-sets/": "api.egg_sets.router",
    "/intakes/": "api.intakes.router",
    "/suppliers/": "api.suppliers.router",
    "/tokens/": "api.tokens.router",
    "/webhooks/": "api.webhooks.noun.router",
    "/calendar-links/": "calendars.api.router",
    "/batches/{batch_id}/counts/": "api.counts.of_batch",
    "/batches/{batch_id}/moves/": "api.stays.moves",
    "/counts/": "api.counts.router",
    "/housing/": "api.housing.router",
    "/observations/": "api.observations.router",
    "/stays/": "api.stays.router",
}
for address, place in NOUNS.items():
    api.add_router(address, place)
