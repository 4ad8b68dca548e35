"""The rounds on a phone without network: ticked, kept, sent once, and what is said when others were quicker."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect

from farm.models import ChoreMark, CountEntry, HistoryEntry, MarkPhoto, SentKey
from farm.models.chore_mark import MarkState
from farm.queries import heads
from farm.services import chores, own_chores, personal_links
from tests.browser import judges
from tests.browser.conftest import Open
from tests.browser.my_app import (
    HEAT,
    Barn,
    lines,
    make_barn,
    opened,
    sent,
    unfold,
    until,
    waiting,
    without_network,
)
from tests.browser.watch import Watch


@pytest.fixture
def barn(live_server: object) -> Barn:
    return make_barn()


@pytest.fixture
def phone(barn: Barn, open_as: Open) -> Page:
    """The keeper's phone on their page, ready for the barn."""
    return opened(open_as(barn.login, "phone"))


def tick(page: Page, at: int = 0, title: str = "Feed and water") -> None:
    lines(page, title).nth(at).locator("button.tick").click()


def test_a_tick_is_sent_at_once_where_there_is_a_network(phone: Page, barn: Barn) -> None:
    tick(phone)
    sent(phone)
    expect(lines(phone).first).to_have_attribute("data-state", "done")
    expect(lines(phone).first.locator(".facts")).to_contain_text("done, Ada")
    mark = ChoreMark.objects.get()
    assert (mark.state, mark.member, mark.minutes) == (MarkState.DONE, barn.by.member, 8)
    tick(phone)
    sent(phone)
    expect(lines(phone).first).to_have_attribute("data-state", "open")
    assert not ChoreMark.objects.exists()


def test_what_is_ticked_in_the_barn_is_kept_through_closing_and_sent_once_in_order(
    phone: Page, barn: Barn, watch: Watch
) -> None:
    context, before = phone.context, heads.alive_on(barn.batch, barn.today)
    context.set_offline(True)
    phone.reload()  # answered by the worker
    unfold(phone)
    expect(phone.locator("#my-state")).to_contain_text("No network")
    tick(phone, 0)
    tick(phone, 1)
    expect(phone.locator("#my-state")).to_contain_text("2 ticks wait for the network.")
    expect(phone.locator("#my-progress")).to_contain_text("2 of ")
    heat = lines(phone, HEAT).first
    heat.locator(".behind > summary").first.click()
    heat.get_by_label("Note or reason").fill("lamp moved up")
    heat.get_by_role("button", name="Done, with this note").click()
    phone.locator(".died > summary").first.click()
    phone.get_by_label("How many died").first.fill("3")
    phone.get_by_role("button", name="Count them").first.click()
    expect(phone.locator("#my-state")).to_contain_text("4 things wait for the network.")
    assert not ChoreMark.objects.exists()
    assert phone.evaluate("navigator.onLine") is False

    phone.close()
    again = context.new_page()
    again.goto("/my/")
    unfold(again)
    expect(again.locator("#my-state")).to_contain_text("4 things wait for the network.")
    expect(again.locator("#my-waiting li")).to_have_count(4)
    expect(lines(again).nth(1).locator(".pending")).to_have_text("waiting to be sent")
    assert waiting(again) == 4

    context.set_offline(False)
    sent(again)
    expect(again.locator("#my-state")).to_be_hidden()
    marks = list(ChoreMark.objects.order_by("pk"))
    assert [mark.title for mark in marks] == ["Brooder 1: Feed and water"] * 2 + [f"Brooder 1: {HEAT}"]
    assert [mark.note for mark in marks] == ["", "", "lamp moved up"]
    assert [mark.at for mark in marks] == sorted(mark.at for mark in marks)
    assert heads.alive_on(barn.batch, barn.today) == before - 3
    assert CountEntry.objects.filter(kind="died").count() == 1
    assert HistoryEntry.objects.filter(verb__in=("tick", "count")).count() == 4
    assert SentKey.objects.count() == 4
    without_network(watch)


def test_an_answer_that_was_lost_is_asked_for_again_and_changes_nothing_twice(
    phone: Page, barn: Barn, watch: Watch
) -> None:
    lost = []

    def lose_first(route: object) -> None:
        if lost:
            route.continue_()  # type: ignore[attr-defined]
            return
        lost.append(route.fetch().status)  # type: ignore[attr-defined]  # the server has heard it
        route.abort("failed")  # type: ignore[attr-defined]

    phone.route("**/my/sync/", lose_first)
    phone.locator(".died > summary").first.click()
    phone.get_by_label("How many died").first.fill("2")
    phone.get_by_role("button", name="Count them").first.click()
    expect(phone.locator("#my-waiting")).to_be_visible()
    phone.evaluate("window.dispatchEvent(new Event('online'))")
    sent(phone)
    assert lost == [200]
    assert CountEntry.objects.filter(kind="died").count() == 1
    without_network(watch)


def test_who_was_quicker_is_said_and_stays_said_until_it_is_seen(
    phone: Page, barn: Barn, watch: Watch
) -> None:
    context = phone.context
    context.set_offline(True)
    first = lines(phone).first
    first.locator(".behind > summary").first.click()
    first.get_by_label("Note or reason").fill("bin is low")
    first.get_by_role("button", name="Done, with this note").click()
    assert waiting(phone) == 1
    source, day, name = str(first.get_attribute("data-line")).split("|")
    mum = barn.member("Mum")
    by = barn.as_member(mum)
    chores.mark(by, source=source, due=barn.today, round=name, title="Brooder 1: Feed and water")
    context.set_offline(False)
    sent(phone)
    expect(phone.locator("#my-said")).to_contain_text("Mum ticked this at ")
    expect(phone.locator("#my-said")).to_contain_text("your note was kept")
    mark = ChoreMark.objects.get()
    assert (mark.member, mark.note, day) == (mum, "bin is low", barn.today.isoformat())
    phone.reload()
    expect(phone.locator("#my-said")).to_contain_text("Mum ticked this at ")
    phone.get_by_role("button", name="Seen").click()
    expect(phone.locator("#my-said")).to_be_hidden()
    phone.reload()
    expect(phone.locator("#my-said")).to_be_hidden()
    without_network(watch)


def test_signed_out_the_queue_is_kept_and_goes_after_signing_in_again(
    phone: Page, barn: Barn, watch: Watch
) -> None:
    context = phone.context
    session = next(cookie for cookie in context.cookies() if cookie["name"] == "sessionid")
    context.clear_cookies()
    tick(phone)
    expect(phone.locator("#my-state")).to_contain_text("Sign in again")
    assert waiting(phone) == 1
    context.add_cookies([session])  # type: ignore[list-item]
    phone.evaluate("window.dispatchEvent(new Event('online'))")
    sent(phone)
    assert ChoreMark.objects.count() == 1


def test_another_member_on_the_same_phone_sends_and_sees_nothing_of_the_first_ones(
    phone: Page, barn: Barn, open_as: Open, watch: Watch
) -> None:
    context = phone.context
    context.set_offline(True)
    tick(phone)
    assert waiting(phone) == 1
    Session.objects.all().delete()
    context.set_offline(False)
    expect(phone.locator("#my-state")).to_contain_text("Sign in again")
    cara = barn.member("Cara")
    other = open_as(cara.login)
    cookie = next(one for one in other.context.cookies() if one["name"] == "sessionid")
    context.add_cookies([cookie])  # type: ignore[list-item]
    opened(phone)
    expect(phone.locator("#my")).to_have_attribute("data-who", f"member-{cara.pk}")
    names = "caches.keys().then((names) => names.filter((name) => name.includes('member')))"
    assert phone.evaluate(names) == [f"my-pages-member-{cara.pk}"]
    assert waiting(phone) == 1
    expect(phone.locator("#my-waiting")).to_be_hidden()
    assert not ChoreMark.objects.exists()

    phone.get_by_role("button", name="Sign out").click()
    expect(phone.get_by_label("E-mail")).to_be_visible()
    assert phone.evaluate(names) == []
    without_network(watch)


def test_a_personal_link_ticks_offline_too_and_can_do_no_more(
    barn: Barn, new_context: Callable[..., BrowserContext], watch: Watch
) -> None:
    kim = barn.member("Kim", "child", login=False)
    context = new_context("phone")
    address = barn.link(kim)
    page = opened(context.new_page(), address)
    assert context.cookies() == []
    expect(page.get_by_role("banner")).to_contain_text("Kim")
    expect(page.get_by_role("navigation")).to_have_count(0)
    expect(page.locator(".died")).to_have_count(0)
    expect(page.get_by_role("button", name="Leave out")).to_have_count(0)
    expect(lines(page, HEAT)).to_have_count(0)
    assert page.locator("link[rel=manifest]").get_attribute("href") == f"{address}manifest.webmanifest"
    assert judges.against_axe(page) == judges.too_wide(page) == []
    context.set_offline(True)
    page.reload()
    unfold(page)
    tick(page)
    expect(page.locator("#my-state")).to_contain_text("One tick waits for the network.")
    context.set_offline(False)
    sent(page)
    assert ChoreMark.objects.get().member == kim
    assert context.cookies() == []

    personal_links.revoke(barn.by, link_id=kim.personal_links.get().pk)
    watch.expected = {410}
    tick(page, 1)
    expect(page.locator("#my-state")).to_contain_text("This link was switched off.")
    assert waiting(page) == 1
    page.reload()
    expect(page.get_by_role("main")).to_contain_text("This link was switched off.")
    without_network(watch)


def test_a_picture_taken_in_the_barn_waits_and_is_sent_small(
    barn: Barn, open_as: Open, tmp_path: Path, watch: Watch
) -> None:
    own_chores.add(
        barn.by, title="Look at the door", start=barn.today, round="evening", who="child", asks="photo"
    )
    page = opened(open_as(barn.login, "phone"))
    out = BytesIO()
    Image.effect_noise((2400, 1200), 60).convert("RGB").save(out, "JPEG")
    (tmp_path / "door.jpg").write_bytes(out.getvalue())
    page.context.set_offline(True)
    line = lines(page, "Look at the door")
    line.locator("input[type=file]").set_input_files(tmp_path / "door.jpg")
    line.locator("button.tick").click()
    expect(page.locator("#my-waiting")).to_be_visible()
    page.context.set_offline(False)
    sent(page)
    photo = MarkPhoto.objects.get()
    assert Image.open(BytesIO(bytes(photo.jpeg))).size == (1600, 800)
    line.locator(".behind > summary").first.click()
    expect(line.get_by_role("img")).to_have_js_property("naturalWidth", 1600)
    without_network(watch)


def test_a_tap_that_trembles_is_one_tick_on_a_page_made_for_gloves(phone: Page) -> None:
    assert judges.small(phone, 48, "#my button, #my summary, #my input, #my select") == []
    assert judges.against_axe(phone) == []
    assert judges.too_wide(phone) == []
    lines(phone).first.locator("button.tick").dblclick()
    sent(phone)
    assert ChoreMark.objects.count() == 1


def test_without_scripts_a_line_is_ticked_by_its_form(barn: Barn, open_as: Open) -> None:
    page = open_as(barn.login, "phone", java_script_enabled=False)
    page.goto("/my/")
    page.locator("button.tick:visible").first.click()
    assert ChoreMark.objects.count() == 1
    page.locator("li[data-state=done] button.tick").first.click()
    assert not ChoreMark.objects.exists()


def test_the_worker_keeps_few_pages_none_that_must_not_be_kept_and_no_old_files(phone: Page) -> None:
    kept = phone.evaluate(
        """async () => {
          const who = document.getElementById("my").dataset.who, headers = {"X-My-Who": who};
          await MyQueue.keep("/my/secret/", new Response("", {headers: {...headers, "Cache-Control": "no-store"}}));
          await MyQueue.keep("/my/strange/", new Response(""));
          await MyQueue.keep("/my/broken/", new Response("", {status: 500, headers}));
          for (let n = 0; n < 30; n++) await MyQueue.keep(`/my/${n}/`, new Response("page", {headers}));
          const pages = await caches.open(`my-pages-${who}`);
          return (await pages.keys()).map((one) => new URL(one.url).pathname);
        }"""
    )
    assert kept == [f"/my/{n}/" for n in range(18, 30)]

    phone.evaluate("caches.open('my-static-old')")
    phone.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.unregister())")
    phone.reload()
    until(phone, "caches.keys().then((names) => !names.includes('my-static-old'))")


PUSHED = """
async ([text, clicked]) => {
  const shown = [], opened = [];
  self.registration.showNotification = async (title, more) => shown.push([title, more.body, more.data.url]);
  self.clients.openWindow = async (address) => opened.push(`open ${address}`);
  const rounds = {url: `${self.location.origin}/my/#now`, focus: async () => opened.push("focus")};
  self.clients.matchAll = async () => [rounds];
  const fire = async (name, more) => {
    let until;
    const event = Object.assign(new ExtendableEvent(name), more);
    Object.defineProperty(event, "waitUntil", {value: (promise) => { until = promise; }});
    self.dispatchEvent(event);
    await until;
  };
  await fire("push", {data: {json: () => JSON.parse(text)}});
  if (clicked) await fire("notificationclick", {notification: {close() {}, data: {url: clicked}}});
  return [shown, opened];
}
"""


def test_a_pushed_message_is_shown_and_leads_to_no_other_site(phone: Page, live_server: Any) -> None:
    (worker,) = phone.context.service_workers
    told = '{"title": "Feed and water", "body": "Brooder 1", "url": "/my/?x=1"}'
    shown, went = worker.evaluate(PUSHED, [told, "/my/?x=1"])
    assert shown == [["Feed and water", "Brooder 1", "/my/?x=1"]]
    assert went == [f"open {live_server.url}/my/?x=1"]
    for elsewhere in ("https://evil.example/", "//evil.example/", "javascript:alert(1)", "http://["):
        _shown, went = worker.evaluate(PUSHED, [told, elsewhere])
        assert went == ["focus"], elsewhere  # the open page of the rounds is brought forward instead
    assert worker.evaluate(PUSHED, ["no message", ""]) == [[], []]
