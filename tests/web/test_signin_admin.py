"""The support pages: everything can be looked at, almost nothing changed, and what is changed is in the history."""

import pytest
from django.apps import apps
from django.urls import reverse

from farm.models import HistoryEntry, Login, Member
from farm.services import members

MODELS = list(apps.get_app_config("farm").get_models())
LOOKED_AT = ["batch", "choremark", "countentry", "historyentry", "housing", "observation", "programmeversion"]
LOOKED_AT += ["rearingprogramme", "stay"]


@pytest.fixture
def support(client, world):
    login = Login.objects.create_superuser("support@example.org", "pw")
    client.force_login(login)
    return client


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model._meta.model_name)
def test_every_record_can_be_listed(support, world, model):
    world.add_batch("Reds", housing="Brooder 1")
    assert support.get(reverse(f"admin:farm_{model._meta.model_name}_changelist")).status_code == 200


@pytest.mark.parametrize("name", LOOKED_AT)
def test_records_with_rules_of_their_own_are_neither_added_changed_nor_deleted(support, world, name):
    world.add_batch("Reds", housing="Brooder 1")
    model = apps.get_model("farm", name)
    assert support.get(reverse(f"admin:farm_{name}_add")).status_code == 403
    row = model._default_manager.first()
    if row is None:
        return
    before = model._default_manager.values().get(pk=row.pk)
    page = support.get(reverse(f"admin:farm_{name}_change", args=[row.pk]))
    assert page.status_code == 200
    assert 'name="_save"' not in page.content.decode()
    assert support.post(reverse(f"admin:farm_{name}_change", args=[row.pk]), {"birds": 99}).status_code == 403
    assert (
        support.post(reverse(f"admin:farm_{name}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403
    )
    assert model._default_manager.values().get(pk=row.pk) == before


def test_support_gives_a_member_another_login_and_the_farm_reads_it_in_its_history(support, world):
    fresh = Login.objects.create_user("ada.new@example.org", "pw")
    url = reverse("admin:farm_member_change", args=[world.keeper.pk])
    answer = support.post(url, {"role": "keeper", "login": fresh.pk})
    assert answer.status_code == 302
    member = Member.objects.get(pk=world.keeper.pk)
    assert (member.login, member.version) == (fresh, 2)
    entry = HistoryEntry.objects.filter(farm=world.farm).first()
    assert (entry.summary, entry.member, entry.login.email) == (
        "Support changed Ada",
        None,
        "support@example.org",
    )


def test_no_hash_of_a_secret_is_shown(support, world):
    finn = members.add(world.by, name="Finn", role="helper")
    members.invite(world.by, member_id=finn.pk)
    invitation = finn.invitations.get()
    page = support.get(reverse("admin:farm_invitation_change", args=[invitation.pk])).content.decode()
    assert invitation.token_sha256 not in page


def test_a_keeper_is_no_support(client, world):
    client.force_login(world.keeper.login)
    assert client.get(reverse("admin:index")).url.startswith(reverse("admin:login"))


def test_a_login_is_shown_without_its_password_hash(support, world):
    page = support.get(reverse("admin:farm_login_change", args=[world.keeper.login_id])).content.decode()
    assert "ada@example.org" in page
    assert world.keeper.login.password not in page
