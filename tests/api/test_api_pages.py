"""The pages about tokens and webhooks: shown once, asked first, words a keeper reads."""

from __future__ import annotations

import pytest
from django.test import Client

from api.models import ApiToken, Webhook
from api.services import webhooks
from tests.conftest import World


@pytest.fixture
def client(world: World) -> Client:
    found = Client()
    found.force_login(world.by.login)
    return found


def test_a_token_made_on_the_page_is_shown_once_and_opens_the_api(world: World, client: Client):
    made = client.post("/settings/api/", {"label": "Scales", "scopes": ["read"], "days": "30"})
    secret = made.content.decode().split("readonly>")[1].split("<")[0]

    reply = Client().get("/api/v1/batches/", headers={"Authorization": f"Bearer {secret}"})
    assert reply.status_code == 200
    assert made["Cache-Control"] == "max-age=0, no-cache, no-store, must-revalidate, private"
    listed = client.get("/settings/api/").content.decode()
    assert "Scales" in listed
    assert secret not in listed


def test_a_token_without_scopes_is_refused_beside_them(client: Client):
    page = client.post("/settings/api/", {"label": "Scales", "days": "30"}).content.decode()

    assert "This field is required." in page
    assert not ApiToken.objects.exists()


def test_switching_a_token_off_asks_first(client: Client):
    client.post("/settings/api/", {"label": "Scales", "scopes": ["read"], "days": "30"})
    token = ApiToken.objects.get()

    assert "Switch “Scales” off?" in client.get(f"/settings/api/tokens/{token.pk}/off/").content.decode()
    assert ApiToken.objects.get().revoked_at is None
    client.post(f"/settings/api/tokens/{token.pk}/off/")
    assert ApiToken.objects.get().revoked_at is not None


def test_a_webhook_is_added_changed_and_removed(world: World, client: Client):
    made = client.post("/settings/api/webhooks/", {"label": "Table", "address": "https://93.184.215.14/x"})
    assert "whsec_" in made.content.decode()
    webhook = Webhook.objects.get()
    assert "https://93.184.215.14/…" in client.get("/settings/api/webhooks/").content.decode()

    page = f"/settings/api/webhooks/{webhook.pk}/"
    client.post(page, {"label": "Chart", "version": "1", "nouns": ["batch"]})
    webhook.refresh_from_db()
    assert (webhook.label, webhook.active, webhook.nouns) == ("Chart", False, ["batch"])
    client.post(f"{page}remove/")
    assert not Webhook.objects.exists()


def test_a_private_address_is_refused_beside_its_field(client: Client):
    page = client.post("/settings/api/webhooks/", {"label": "Router", "address": "https://192.168.1.1/"})

    assert "not on the public internet" in page.content.decode()
    assert not Webhook.objects.exists()


def test_a_stale_form_says_what_changed_and_overwrites_nothing(world: World, client: Client):
    webhook, _secret = webhooks.add(world.by, label="Table", address="https://93.184.215.14/")
    webhooks.change(world.by, webhook_id=webhook.pk, expected_version=1, label="Chart")

    page = client.post(f"/settings/api/webhooks/{webhook.pk}/", {"label": "Lamp", "version": "1"})

    assert "Ada: Webhook “Chart” changed" in page.content.decode()
    assert Webhook.objects.get().label == "Chart"


def test_every_kind_of_problem_is_explained(client: Client):
    page = Client().get("/api/v1/problems/").content.decode()
    assert page.count('<section class="card"') == 14
    assert 'id="version-differs"' in page
