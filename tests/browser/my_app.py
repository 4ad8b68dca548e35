"""What the tests of the app share: a small farm of today, a phone on its page, and the network taken away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from playwright.sync_api import Locator, Page, expect

from farm.models import Batch, Housing, Login, Member
from farm.models.history import Face
from farm.services import batches, farms, housings, members, personal_links
from farm.services.actor import Actor, local_day
from tests.browser.watch import Watch

FEED, HEAT = "Feed and water", "Check the heat"


@dataclass
class Barn:
    """A farm with chicks in one brooder, and who works there."""

    by: Actor
    login: Login
    batch: Batch
    housing: Housing

    @property
    def today(self) -> date:
        return self.by.today

    def member(self, name: str, role: str = "helper", *, login: bool = True) -> Member:
        member = members.add(self.by, name=name, role=role)
        if login:
            member.login = Login.objects.create_user(f"{name.lower()}@example.org", "pw")
            member.save()
        return member

    def as_member(self, member: Member) -> Actor:
        return replace(self.by, member=member, login=member.login)

    def link(self, member: Member) -> str:
        return f"/my/{personal_links.make(self.by, member_id=member.pk, label='phone')}/"


def make_barn() -> Barn:
    login = Login.objects.create_user("ada@example.org", "pw")
    now = datetime.now(UTC)
    farm, keeper = farms.start(
        login=login, keeper="Ada", name="Hollow Farm", time_zone="Europe/Berlin", now=now, face=Face.PAGE
    )
    today = local_day(farm, now)
    by = Actor(farm_id=farm.pk, face=Face.PAGE, now=now, today=today, member=keeper, login=login)
    housing = housings.add(by, name="Brooder 1", kind="brooder", area_m2=4.0, heated=True)
    new = batches.NewBatch(
        name="Spring",
        birds=40,
        programme="chicken_layer_brown",
        hatch_day=today - timedelta(days=9),
        housing_id=housing.pk,
    )
    return Barn(by, login, batches.start(by, new=new), housing)


def opened(page: Page, address: str = "/my/") -> Page:
    """Open the personal page and wait until its worker looks after it and holds a copy."""
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    until(page, f"MyQueue.kept('{address}').then((copy) => copy !== undefined)")
    page.reload()
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    unfold(page)
    return page


def until(page: Page, promised: str) -> None:
    """Wait until what an expression promises is so; Playwright's own wait takes the promise itself for a yes."""
    for _ in range(100):
        if page.evaluate(promised):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never so: {promised}")


def unfold(page: Page) -> None:
    for fold in page.locator("details.myround:not(.ahead):not([open]) > summary").all():
        fold.click()


def lines(page: Page, title: str = FEED) -> Locator:
    return page.locator("li.myline").filter(has_text=title)


def waiting(page: Page) -> int:
    return int(page.evaluate("MyQueue.waiting().then((rows) => rows.length)"))


def sent(page: Page) -> None:
    """Wait until nothing waits any more."""
    until(page, "MyQueue.waiting().then((rows) => rows.length === 0)")
    expect(page.locator("#my-waiting")).to_be_hidden()


def without_network(watch: Watch) -> None:
    """Leave out of the watch what cannot but fail where there is no network."""
    watch.troubles[:] = [
        trouble
        for trouble in watch.troubles
        if "ERR_INTERNET_DISCONNECTED" not in trouble and "ERR_FAILED" not in trouble
    ]
