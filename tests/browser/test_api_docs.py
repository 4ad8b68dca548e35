"""The interactive description of the API: from this server alone, under the strict policy, with one's own session."""

from __future__ import annotations

from playwright.sync_api import Page, expect


def test_a_keeper_reads_what_a_program_can_ask_and_tries_it(page: Page) -> None:
    page.goto("/api/v1/docs/")

    page.get_by_role("button", name="Expand operation").nth(0).wait_for()
    page.locator("#operations-tag-Batches").click()
    page.locator("#operations-Batches-list_batches").get_by_role("button").first.click()
    page.get_by_role("button", name="Try it out").click()
    page.get_by_role("button", name="Execute").click()

    answer = page.locator(".live-responses-table .response .response-col_status").first
    expect(answer).to_contain_text("200")
    expect(page.locator(".live-responses-table")).to_contain_text('"next"')


def test_tokens_and_webhooks_are_made_on_pages_and_shown_once(page: Page) -> None:
    page.goto("/settings/")
    page.get_by_role("link", name="Other programs").click()
    page.get_by_label("What is it for?").fill("Scales in the shed")
    page.get_by_role("button", name="Make the token").click()

    secret = page.get_by_label("Token").input_value()
    reply = page.request.get("/api/v1/batches/", headers={"Authorization": f"Bearer {secret}", "Cookie": ""})
    assert reply.status == 200
    page.get_by_role("link", name="Done").click()
    expect(page.get_by_role("heading", name="Scales in the shed")).to_be_visible()
    assert secret not in page.content()
