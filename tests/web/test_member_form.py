"""The form of a member: abilities, the week's boxes, share and likes; nothing typed is lost."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from farm.models import Member, OwnChore
from farm.models.member import ABILITIES, all_rounds
from farm.services import members
from farm.trade.chores import chores
from tests.conftest import TODAY, World

NEW = reverse("member-new")


@pytest.fixture
def ada(world: World, client: Client) -> Client:
    client.force_login(world.keeper.login)
    return client


class Boxes(HTMLParser):
    """What a browser would send of a page's form, and which boxes have a label."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.sent: dict[str, list[str]] = {}
        self.ids: dict[str, str] = {}
        self.labels: dict[str, str] = {}
        self._for = ""
        self._choice = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list) -> None:
        found = dict(attrs)
        if tag == "label":
            self._for = found.get("for", "")
        elif tag == "select":
            self._choice = found["name"]
        elif tag == "option" and "selected" in found:
            self.sent[self._choice] = [found["value"]]
        elif tag == "input" and found.get("name") not in (None, "csrfmiddlewaretoken"):
            if found["type"] == "checkbox":
                self.ids[found["id"]] = f"{found['name']} {found.get('value', 'on')}"
            if found["type"] != "checkbox" or "checked" in found:
                unsaid = "on" if found["type"] == "checkbox" else ""
                self.sent.setdefault(found["name"], []).append(found.get("value", unsaid))

    def handle_endtag(self, tag: str) -> None:
        if tag == "label":
            self._for = ""

    def handle_data(self, data: str) -> None:
        if self._for:
            self.labels[self._for] = " ".join((self.labels.get(self._for, "") + " " + data).split())


def opened(ada: Client, url: str = NEW) -> Boxes:
    return Boxes(ada.get(url).content.decode())


def errors(answer: Any) -> dict[str, list[str]]:
    return {name: list(texts) for name, texts in answer.context["form"].errors.items()}


@pytest.mark.parametrize(
    ("role", "adult", "can"),
    [("keeper", True, 5), ("helper", False, 1), ("child", False, 1), ("king", False, 1)],
)
def test_a_form_opens_with_what_is_usual_for_the_role(world, ada, role: str, adult: bool, can: int):
    sent = opened(ada, f"{NEW}?role={role}").sent

    assert sent["role"] == ["helper" if role == "king" else role]
    assert ("adult" in sent) == adult
    assert sum(column in sent for column in ABILITIES.values()) == can
    assert (len(sent["rounds"]), sent["share"]) == (21, ["100"])


def test_a_name_is_all_that_has_to_be_typed(world: World, ada: Client):
    answer = ada.post(NEW, opened(ada).sent | {"name": "Gil"})

    gil = Member.objects.get(name="Gil")
    assert answer.url == reverse("members")
    assert (gil.role, gil.adult, gil.abilities, gil.rounds) == ("helper", False, {"water"}, all_rounds())
    assert (gil.max_week_minutes, gil.share, gil.prefers, gil.refuses) == (None, 100, [], [])


def test_every_detail_is_saved_and_shown_again(world: World, ada: Client):
    mow = OwnChore.objects.create(farm=world.farm, title="Mow", start=TODAY, begun_on=TODAY)
    typed = {
        "name": "Gil",
        "role": "helper",
        "adult": "on",
        "can_heat": "on",
        "can_lift": "on",
        "rounds": ["2", "5", "18"],
        "max_week_minutes": "240",
        "share": "50",
        "prefers": ["look", f"own:{mow.pk}"],
        "refuses": ["weigh"],
    }
    ada.post(NEW, typed)

    gil = Member.objects.get(name="Gil")
    assert (gil.adult, gil.abilities, gil.rounds) == (True, {"heat", "lifting"}, [2, 5, 18])
    assert (gil.max_week_minutes, gil.share) == (240, 50)
    assert (gil.prefers, gil.refuses) == (["look", f"own:{mow.pk}"], ["weigh"])
    again = opened(ada, reverse("member-edit", args=[gil.pk])).sent
    assert {name: again[name] for name in typed} == {
        name: value if isinstance(value, list) else [value] for name, value in typed.items()
    }


def test_saving_a_form_as_it_opened_changes_nothing(world: World, ada: Client):
    gil = members.add(
        world.by, name="Gil", role="child", rounds=[20], share=15, max_week_minutes=0, prefers=["look"]
    )
    url = reverse("member-edit", args=[gil.pk])

    ada.post(url, opened(ada, url).sent)

    assert Member.objects.get(pk=gil.pk).version == 1


def test_no_box_of_the_week_ticked_means_never_there(world: World, ada: Client):
    sent = opened(ada).sent | {"name": "Gil"}
    del sent["rounds"]
    ada.post(NEW, sent)

    assert Member.objects.get(name="Gil").rounds == []
    assert "There for no rounds" in ada.get(reverse("members")).content.decode()


def test_an_empty_share_is_a_full_part_and_nought_is_none(world: World, ada: Client):
    for name, typed in (("Gil", ""), ("Hal", "0")):
        ada.post(NEW, opened(ada).sent | {"name": name, "share": typed})

    assert [Member.objects.get(name=name).share for name in ("Gil", "Hal")] == [100, 0]


@pytest.mark.parametrize("column", ["adult", "can_heat", "can_dose", "can_slaughter"])
def test_a_childs_forbidden_box_is_refused_and_the_page_says_why(world: World, ada: Client, column: str):
    page = ada.get(f"{NEW}?role=child").content.decode()
    assert "A child never gets heat equipment, medicine or slaughter" in page

    answer = ada.post(NEW, opened(ada, f"{NEW}?role=child").sent | {"name": "Kim", column: "on"})

    assert list(errors(answer)) == [column]
    assert errors(answer)[column][0] in answer.content.decode().replace("&#x27;", "'")
    assert not Member.objects.filter(name="Kim").exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"rounds": ["21"]}, "rounds"),
        ({"rounds": ["noon"]}, "rounds"),
        ({"max_week_minutes": "10081"}, "max_week_minutes"),
        ({"max_week_minutes": "-1"}, "max_week_minutes"),
        ({"share": "1001"}, "share"),
        ({"share": "half"}, "share"),
        ({"prefers": ["juggle"]}, "prefers"),
        ({"refuses": ["own:999999"]}, "refuses"),
        ({"prefers": ["look"], "refuses": ["look"]}, "refuses"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_typed_is_lost(
    world, ada, typed: dict, field: str
):
    answer = ada.post(NEW, opened(ada).sent | {"name": "Gil", "can_lift": "on"} | typed)

    assert list(errors(answer)) == [field]
    again = Boxes(answer.content.decode())
    assert (again.sent["name"], again.sent["can_lift"]) == (["Gil"], ["on"])
    assert f'href="#id_{field}"' in answer.content.decode()
    assert not Member.objects.filter(name="Gil").exists()


def test_a_folded_list_with_a_mistake_is_unfolded(world: World, ada: Client):
    answer = ada.post(NEW, opened(ada).sent | {"name": "Gil", "prefers": ["look"], "refuses": ["look"]})

    page = answer.content.decode()
    assert page.count('<details class="chores" open>') == 1
    assert page.count('<details class="chores"') == 2


def test_every_box_has_a_label_of_its_own(world: World, ada: Client):
    page = opened(ada)

    assert set(page.ids) <= set(page.labels)
    assert page.labels["id_rounds_0"] == "Monday morning"
    assert page.labels["id_rounds_20"] == "Sunday evening"
    rounds = [page.labels[one] for one, box in page.ids.items() if box.startswith("rounds ")]
    assert len(set(rounds)) == 21


def test_the_week_begins_as_the_farms_does(world: World, ada: Client):
    world.farm.first_weekday = 6
    world.farm.save()

    form = ada.get(NEW).context["form"]

    assert [day for day, _boxes in form.week][:2] == ["Sunday", "Monday"]
    assert [box.data["value"] for box in form.week[0][1]] == [18, 19, 20]


def test_the_lists_offer_the_tables_chores_and_the_farms_own(world: World, elsewhere: World, ada: Client):
    mine = OwnChore.objects.create(farm=world.farm, title="Mow <the> lawn", start=TODAY, begun_on=TODAY)
    OwnChore.objects.create(farm=elsewhere.farm, title="Theirs", start=TODAY, begun_on=TODAY)

    page = opened(ada)

    offered = [box.split()[1] for box in page.ids.values() if box.startswith("refuses ")]
    assert offered == [*chores(), f"own:{mine.pk}"]
    assert "Theirs" not in str(page.labels)


def test_a_chore_that_is_gone_is_not_saved_again(world: World, ada: Client):
    mow = OwnChore.objects.create(farm=world.farm, title="Mow", start=TODAY, begun_on=TODAY)
    gil = members.add(world.by, name="Gil", role="helper", prefers=["look", f"own:{mow.pk}"])
    mow.delete()
    url = reverse("member-edit", args=[gil.pk])

    page = ada.get(url).content.decode()
    ada.post(url, opened(ada, url).sent)

    assert "1 chosen" in page
    gil.refresh_from_db()
    assert gil.prefers == ["look"]


def test_growing_out_of_the_role_of_a_child_is_one_form(world: World, ada: Client):
    kim = members.add(world.by, name="Kim", role="child")
    url = reverse("member-edit", args=[kim.pk])

    ada.post(url, opened(ada, url).sent | {"role": "helper", "adult": "on", "can_heat": "on"})

    kim.refresh_from_db()
    assert (kim.role, kim.adult, kim.abilities) == ("helper", True, {"water", "heat"})
