"""The help: open to everybody, complete in its words and cautions, honest about what it is."""

import html
import itertools
import re

import pytest
from django.urls import reverse

from farm.trade.cautions import DEFERRAL, cautions
from farm.trade.sources import sources
from farm.web.help import pieces
from farm.web.imports import batch_table, housing_table


@pytest.fixture
def page(client, db):
    return html.unescape(client.get(reverse("help")).content.decode())


def test_it_is_open_without_a_login_and_shows_the_farm_with_one(world, client):
    assert "visit" not in client.get(reverse("help")).context
    client.force_login(world.keeper.login)
    assert client.get(reverse("help")).context["visit"].farm == world.farm


def test_every_caution_is_there_in_full(page):
    assert len(cautions()) == 12
    for caution in cautions().values():
        assert caution.text in page
        assert f'id="caution-{caution.key}"' in page
    assert page.count(DEFERRAL) == 12


def test_every_caution_says_who_says_so(page):
    for caution in cautions().values():
        section = page.split(f'id="caution-{caution.key}"')[1].split("</section>")[0]
        for part in caution.source.split("; "):
            named = sources()[part].title if part in sources() else part
            assert named in section


def test_only_looked_up_addresses_are_links(page):
    links = set(re.findall(r'href="(https://[^"]+)"', page))
    assert links
    confirmed = {f"https://{one.address}" for one in sources().values() if one.confirmed and one.address}
    assert links <= confirmed


def test_an_unconfirmed_source_is_named_without_a_link():
    doubtful = next(one for one in sources().values() if one.address and not one.confirmed)
    assert pieces.Cited(doubtful.key, doubtful).link == ""


def test_a_label_is_not_taken_for_a_publication():
    assert [(one.label, one.source) for one in pieces.cited("common practice, no source")] == [
        ("common practice, no source", None)
    ]


@pytest.mark.parametrize(
    "word",
    [
        "farm",
        "member",
        "type",
        "rearing programme",
        "batch",
        "housing",
        "stay",
        "move",
        "intake",
        "count entry",
        "observation",
        "shortfall",
        "headroom",
        "step",
        "chore",
        "round",
        "feed",
        "login",
        "calendar link",
    ],
)
def test_each_word_of_the_pages_is_explained(page, word):
    assert f"<dt>{word}</dt><dd>" in page


@pytest.mark.parametrize("table", [housing_table, batch_table])
def test_every_column_that_can_be_imported_is_listed_as_the_importer_knows_it(world, client, table):
    client.force_login(world.keeper.login)
    shown = html.unescape(client.get(reverse("help")).content.decode())
    columns = table.kind(world.farm).columns
    assert len(columns) > 5
    for column in columns:
        row = shown.split(f'<th scope="row">{column.header("metric")}</th>')[1].split("</tr>")[0]
        assert ("<td>yes</td>" in row) == column.required
        assert column.name in row


def test_headers_are_in_the_farms_units(world, client):
    world.farm.units = "us"
    world.farm.save()
    client.force_login(world.keeper.login)
    shown = client.get(reverse("help")).content.decode()
    assert "(ft²)" in shown
    assert "(m²)" not in shown


def test_it_defers_to_local_code_label_and_vet_and_claims_no_certainty(page):
    assert "They are no certainty" in page
    assert "Your local code, the product label and your vet stand above anything written here" in page
    assert "Nothing here diagnoses, doses or sets days to wait" in page


def test_the_links_of_its_contents_lead_to_its_headings(page):
    targets = re.findall(r'href="#([\w-]+)"', page)
    assert {"start", "quick", "csv", "calendars", "words", "trust", "cautions"} <= set(targets)
    for target in targets:
        assert f'id="{target}"' in page


def test_its_headings_never_skip_a_level(page):
    levels = [int(level) for level in re.findall(r"<h([1-6])", page)]
    assert levels[0] == 1
    assert all(later <= earlier + 1 for earlier, later in itertools.pairwise(levels))
