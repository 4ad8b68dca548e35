"""Words that try to be code: stored in every text there is, they stay words on every page and in every other face."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from django.apps import apps
from django.core.cache import cache
from django.db import models
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page

from calendars import services as calendars
from farm.models import Plan
from farm.queries import own_chores as own_sources
from farm.services import own_chores, plans, postponing
from farm.services.demo import Planted
from farm.web import csp_reports
from tests.browser.conftest import Open
from tests.browser.pages import STRANGERS
from tests.browser.planting import APPS, Planting
from tests.browser.watch import Watch

# Out of an attribute, out of a title, a text area or a script, then something that runs. Watch sees a dialog, a
# refused script and a request for x; 7*7 tells of a template that read it.
WORDS = "\"'></title></textarea></script><img src=x onerror=alert(1)>"
SHORT = "'\"><svg onload=alert(2)>{{7*7}}"
#: One for each place a text may end up in, by that place. `#` becomes the row's number: some columns are unique.
CORPUS = {
    "element": WORDS + " #",
    "short": SHORT + "#",
    "double quotes": '# " autofocus onfocus=alert(3) x="',
    "single quotes": "# ' autofocus onfocus=alert(4) x='",
    "no quotes": "x# onpointerenter=alert(5) onfocus=alert(5) autofocus",
    "address": "javascript:alert(6)//#",
    "data address": "data:text/html,<script>alert(7)</script>#",
    "script": "';alert(8);//</script><script>alert(8)</script>\u2028#",
    "drawing": "</text></svg><svg><animate onbegin=alert(9) attributeName=x dur=1s></svg>#",
    "style": "#;}</style><style>body{display:none;background:url(//evil.example/x)}",
    "template": "{{ 7*7 }}{% now 'Y' %}${7*7}#",
    "comment": "--><img src=x onerror=alert(10)><!-- #",
    "entity": "&lt;img src=x onerror=alert(11)&gt;&#60;b&#62;#",
    "link in words": '<a href="//evil.example">#</a>[x](javascript:alert(12))',
    "line": "#\r\nATTENDEE:mailto:x@evil.example\r\nSet-Cookie: a=b",
    "formula": '=HYPERLINK("//evil.example";"#")',
}
#: What would have become part of a page instead of its words; the project's own pages have none of these.
_INJECTED = """
() => [...document.querySelectorAll("img[src=x], svg[onload], animate[onbegin], script:not([src]), style, base")]
  .map((one) => one.outerHTML)
  .concat([...document.querySelectorAll("*")].flatMap((one) => [...one.attributes])
    .filter((each) => each.name.startsWith("on")).map((each) => `${each.name}=${each.value}`))
  .concat([...document.querySelectorAll("a[href], form[action]")]
    .map((one) => new URL(one.getAttribute("href") ?? one.getAttribute("action"), location.href))
    .filter((to) => !/^(https?|tel|mailto|webcal):$/.test(to.protocol) || to.host === "evil.example")
    .map((to) => to.href))
"""

#: Columns whose text is a key, a hash or a setting of the program, which no form writes freely.
NOT_FREE = {
    *("time_zone", "language", "password", "species", "type", "built_in"),
    *("source", "verb", "noun", "model", "word", "client_key", "digest", "content"),
    *("repeat", "zone", "claim", "problem_digest"),
}
#: Columns without a row in the demo, that the program alone writes: keys, digests, its own sentences, what an app sent.
UNPLANTED = {
    *("alert.key", "forecast.error", "headroom.binding", "sentkey.key"),
    *("calendarbody.edition", "calendarbody.etag", "calendarbody.key"),
    *("entryversion.edition", "entryversion.timing", "entryversion.uid"),
    *("sentrequest.key", "sentrequest.sealed_body", "todolist.key", "todolist.made"),
    *(f"todoversion.{name}" for name in ("body", "etag", "extras", "name", "round", "timing")),
}


def free_texts(model: type[models.Model]) -> Iterator[models.Field[Any, Any]]:
    """Yield the columns of a model that hold what people write."""
    for field in model._meta.concrete_fields:
        typed = type(field) in (models.CharField, models.TextField) and field.editable
        ours = field.choices or field.unique or field.name in NOT_FREE or field.name.endswith("sha256")
        if typed and not ours:
            yield field


def every_model() -> list[type[models.Model]]:
    return [model for name in APPS for model in apps.get_app_config(name).get_models()]


def every_free_text() -> set[str]:
    return {
        f"{model._meta.model_name}.{field.name}" for model in every_model() for field in free_texts(model)
    }


def spoil(field: models.Field[Any, Any], row: models.Model, turn: int) -> str:
    """Return hostile words that the column can hold, another sort at each turn, each row's its own."""
    sorts = list(CORPUS.values())
    for at in range(len(sorts)):
        words = sorts[(turn + at) % len(sorts)].replace("#", str(row.pk))
        if field.max_length is None or len(words) <= field.max_length:
            return words
    return f"<b>{row.pk}"[: field.max_length]


def plant_more(demo: Planted) -> Plan:
    """Give the demo a chore that was put off and a plan that is asked for, and return the plan."""
    chore = own_chores.add(demo.by, title="Sweep", start=demo.by.today, minutes=10)
    which = {"source": own_sources.source(chore.pk), "due": demo.by.today, "round": chore.round}
    to = {"to_due": demo.by.today + timedelta(days=1), "to_round": chore.round}
    postponing.put_off(demo.by, **which, **to, reason="it rains")
    return plans.propose(demo.by, reason="more ducks")


def spoil_everything() -> set[str]:
    """Write hostile words into every free text of every record, and of what is kept as JSON; return the columns."""
    found: set[str] = set()
    names = {field.name for model in every_model() for field in free_texts(model)}
    turn = 0
    for model in every_model():
        texts = list(free_texts(model))
        kept = [field for field in model._meta.concrete_fields if isinstance(field, models.JSONField)]
        for row in model._base_manager.all() if texts or kept else ():
            turn += 1
            values = {field.name: spoil(field, row, turn + at) for at, field in enumerate(texts)}
            found |= {f"{model._meta.model_name}.{name}" for name in values}
            values |= {field.name: in_json(getattr(row, field.attname), names, turn) for field in kept}
            model._base_manager.filter(pk=row.pk).update(**values)
    return found


def in_json(value: Any, names: set[str], turn: int) -> Any:
    """Return kept values with hostile words for the texts that go by the name of a free text."""
    if isinstance(value, list):
        return [in_json(one, names, turn) for one in value]
    if not isinstance(value, dict):
        return value
    sorts = list(CORPUS.values())
    return {
        name: sorts[(turn + at) % len(sorts)].replace("#", str(turn))
        if name in names and isinstance(one, str) and one
        else in_json(one, names, turn)
        for at, (name, one) in enumerate(value.items())
    }


def test_every_free_text_has_a_row_to_be_spoiled_in(demo: Planted) -> None:
    plant_more(demo)
    assert every_free_text() - spoil_everything() == UNPLANTED


def test_hostile_words_stay_words_on_every_page(
    demo: Planted, planted: Planting, open_as: Open, watch: Watch
) -> None:
    addresses = planted.pages() | {"plan-page": reverse("plan-page", args=[plant_more(demo).code])}
    spoil_everything()
    cache.clear()
    page = open_as(demo.by.login)
    met: Counter[str] = Counter()
    for name, address in addresses.items():
        page.goto(address)
        assert page.evaluate(_INJECTED) == [], name
        shown = text_of(page)
        met.update(sort for sort in CORPUS if core(sort) in shown)
    assert {sort: met[sort] for sort in CORPUS if met[sort] < 5} == {}  # each sort did reach the pages
    assert csp_reports.counted() == 0

    # The same watch over a page that did let it in: the browser refuses it and says so.
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=alert(1)>')")
    page.wait_for_timeout(1000)
    assert csp_reports.counted() > 0
    assert page.evaluate(_INJECTED) == ['<img src="x" onerror="alert(1)">', "onerror=alert(1)"]
    assert watch.troubles != []
    watch.troubles.clear()


def test_a_stranger_with_a_link_sees_words_too(
    demo: Planted, planted: Planting, new_context: Callable[..., BrowserContext]
) -> None:
    spoil_everything()
    cache.clear()
    page = new_context("phone").new_page()
    for name in (*STRANGERS, "my-link"):
        page.goto(planted.addresses[name])
        assert page.evaluate(_INJECTED) == [], name
    assert csp_reports.counted() == 0


def test_what_is_no_page_is_never_read_as_one(demo: Planted, planted: Planting) -> None:
    """Calendars, tables and JSON carry the words as they are: their type, and no guessing at it, keeps them words."""
    _link, secret = calendars.make_link(demo.by, member_id=demo.keeper.pk, label="tablet", scope="farm")
    spoil_everything()
    client = Client(HTTP_HOST="localhost")
    client.force_login(demo.by.login)
    asked = [
        *planted.addresses.values(),
        f"/c/{secret}.ics",
        "/api/v1/batches/",
        "/healthz",
        "/api/v1/openapi.json",
    ]
    kinds: Counter[str] = Counter()
    for address in asked:
        reply = client.get(address)
        kind = reply.headers.get("Content-Type", "").split(";")[0]
        if reply.status_code != 200 or kind == "text/html":
            continue
        kinds[kind] += 1
        assert reply["X-Content-Type-Options"] == "nosniff", address
        assert kind in NO_PAGES, address
        if kind == "text/calendar":
            body = reply.content.decode()
            assert "alert(" in body
            assert not [line for line in body.split("\r\n") if line.startswith(("ATTENDEE", "Set-Cookie"))]
    assert {"text/calendar", "application/json"} <= set(kinds)


#: What answers that are no pages may be.
NO_PAGES = {
    *(
        "text/calendar",
        "text/csv",
        "text/plain",
        "text/javascript",
        "application/json",
        "application/manifest+json",
    ),
    *("application/zip", "image/jpeg", "application/problem+json"),
}


def core(sort: str) -> str:
    """Return the part of a sort by which a page is known to show it, as a browser shows it."""
    return max(
        CORPUS[sort].replace("\u2028", "\n").replace("\r", "\n").replace("\n", "#").split("#"), key=len
    ).strip()


def text_of(page: Page) -> str:
    """Return what the page shows as text."""
    return page.locator("body").inner_text()


def test_hostile_words_that_a_form_refuses_come_back_as_words(demo: Planted, open_as: Open) -> None:
    page = open_as(demo.by.login)
    for address in ("/housing/new/", "/batches/new/", "/quick/", "/import/", "/people/new/"):
        page.goto(address)
        for box in page.locator("main form input[type=text]:visible, main form textarea:visible").all():
            box.fill(WORDS)
        page.locator("main form button:visible").last.click()
        page.wait_for_load_state()
        assert page.locator("img[src=x]").count() == 0, address
