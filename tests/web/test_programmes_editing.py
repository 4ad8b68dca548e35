"""Editing an own programme: rows typed, added and dropped; looked at before saving; errors at the row, nothing lost."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.models import ProgrammeVersion
from farm.queries import programmes as read
from farm.services import programmes
from farm.trade.programme import OWN
from tests.web.test_programmes_pages import browser, text  # noqa: F401  (the fixture)


@pytest.fixture
def own(world):
    return programmes.copy(world.by, source="chicken_layer_brown", name="Our browns")


class Form:
    """The edit page as a browser sees it: its fields, as they would be sent."""

    def __init__(self, client, own):
        self.client, self.url = client, f"/settings/programmes/{own.pk}/edit/"
        self.take(client.get(self.url))

    def take(self, answer):
        self.answer = answer
        inputs = re.findall(r"<input[^>]*>", answer.content.decode())
        found = {}
        for one in inputs:
            name, value = re.search(r'name="([^"]*)"', one), re.search(r'value="([^"]*)"', one)
            if name and 'type="checkbox"' not in one and name[1] != "csrfmiddlewaretoken":
                found[name[1]] = (value[1] if value else "").replace("&#x27;", "'")
        self.fields = found
        return answer

    def press(self, button, value="1", **typed):
        sent = self.fields | {name.replace("__", "."): text for name, text in typed.items()} | {button: value}
        answer = self.client.post(self.url, sent)
        return answer if answer.status_code == 302 else self.take(answer)

    def row(self, table, key):
        sheet = self.answer.context["edit"].sheet
        return next(row for row in sheet._table(table).rows if row.key == key)


def newest(own):
    return read.of_version(read.latest(own))


def test_looking_without_typing_finds_nothing_to_save(browser, own):  # noqa: F811
    page = text(Form(browser, own).press("look"))
    assert "No figure differs" in page
    assert 'name="save"' not in page


def test_a_figure_is_looked_at_then_saved_as_this_farms_own(browser, own):  # noqa: F811
    form = Form(browser, own)
    looked = form.press("look", temp_c__0__value="36.5")
    (change,) = looked.context["edit"].differences
    assert change.label == "Temperature at the birds' back height, day 0"
    assert change.before.startswith("35.0 °C (Penn State")
    assert change.after == "36.5 °C (this farm's own figure)"
    assert ProgrammeVersion.objects.filter(programme=own).count() == 1
    assert form.press("save", note="warmer").status_code == 302
    knot = newest(own).curves["temp_c"][0]
    assert (knot.value, knot.source) == (36.5, OWN)
    assert read.latest(own).note == "warmer"


def test_figures_left_alone_keep_their_exact_values_and_sources(browser, own, world):  # noqa: F811
    world.farm.units = "us"
    world.farm.save()
    before = newest(own)
    form = Form(browser, own)
    form.press("look", rules__litter_depth_cm__value="4")
    form.press("save")
    after = newest(own)
    assert after.rules["litter_depth_cm"].value == pytest.approx(10.16)
    assert (after.curves, after.feeds) == (before.curves, before.feeds)
    assert {n: r for n, r in after.rules.items() if n != "litter_depth_cm"} == {
        n: r for n, r in before.rules.items() if n != "litter_depth_cm"
    }


def test_saving_without_having_looked_is_only_looked_at(browser, own):  # noqa: F811
    answer = Form(browser, own).press("save", temp_c__0__value="36.5")
    assert "This is not what you looked at." in text(answer)
    assert read.latest(own).number == 1


def test_a_row_is_added_typed_out_of_order_and_saved_in_its_place(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("add", "temp_c")
    form.press("look", temp_c__n0__day="10", temp_c__n0__value="31")
    form.press("save")
    assert [(knot.day, knot.value) for knot in newest(own).curves["temp_c"]][:4] == [
        (0, 35.0),
        (7, 32.2),
        (10, 31.0),
        (14, 29.4),
    ]


def test_a_row_is_dropped(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("drop", "temp_c.1")
    form.press("look")
    form.press("save")
    assert [knot.day for knot in newest(own).curves["temp_c"]] == [0, 14, 21, 28, 35]


def test_adding_and_dropping_lose_nothing_that_was_typed(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("add", "area_m2", temp_c__0__value="much", note="half done")
    assert form.row("temp_c", "0").value == "much"
    assert form.fields["note"] == "half done"
    assert read.latest(own).number == 1


@pytest.mark.parametrize(
    "typed, said",
    [
        ({"temp_c__0__value": "much"}, "Enter a number."),
        ({"temp_c__0__value": "95"}, "It must be from 15.0 °C to 45.0 °C."),
        ({"temp_c__0__day": "first"}, "The day of age must be a whole number."),
        ({"temp_c__0__day": "7"}, "must be later than day 7 of the row before"),
        ({"temp_c__0__source": "my aunt"}, "Choose a source from the list"),
    ],
)
def test_a_wrong_row_is_said_at_the_row_and_keeps_what_was_typed(browser, own, typed, said):  # noqa: F811
    form = Form(browser, own)
    form.press("look", **typed)
    sheet = form.answer.context["edit"].sheet
    problems = {f"{t.name}.{r.key}": r.problems for t in sheet.tables for r in t.rows if r.problems}
    assert len(problems) == 1
    assert said in next(iter(problems.values()))[0]
    name, value = next(iter(typed.items()))
    assert form.fields[name.replace("__", ".")] == value
    assert read.latest(own).number == 1


def test_a_weight_that_falls_with_age_is_refused_at_its_row(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("look", weight_female_g__2__value="300")
    assert form.row("weight_female_g", "2").problems == ["must not be less than the row before"]


def test_a_table_emptied_is_said_at_the_table(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("drop", "bedding_every_days.0")
    answer = form.press("look")
    assert answer.context["edit"].sheet._table("bedding_every_days").problems == ["this curve is missing"]


def test_a_typed_source_is_kept_for_a_new_figure(browser, own):  # noqa: F811
    form = Form(browser, own)
    form.press("look", temp_c__0__value="34", temp_c__0__source="UMN-MEAT")
    form.press("save")
    assert newest(own).curves["temp_c"][0].source == "UMN-MEAT"


def test_another_version_saved_meanwhile_is_told_and_nothing_typed_is_lost(browser, own, world):  # noqa: F811
    form = Form(browser, own)
    content = read.latest(own).content
    content["rules"]["litter_depth_cm"] = {"value": 12.0, "source": OWN}
    programmes.edit(world.by, programme_id=own.pk, content=content, note="deeper", expected_number=1)
    answer = form.press("look", temp_c__0__value="36.5")
    assert "Our browns v2: deeper" in text(answer)
    assert form.row("temp_c", "0").value == "36.5"
    form.press("look")
    assert form.press("save").status_code == 302
    assert read.latest(own).number == 3


def test_ticked_batches_are_moved_and_the_others_stay(browser, own, world):  # noqa: F811
    moved = world.add_batch("Spring", programme=str(own.pk), birds=5, housing="Brooder 1")
    stays = world.add_batch("Summer", programme=str(own.pk), birds=5, housing="Brooder 2")
    form = Form(browser, own)
    form.press("look", temp_c__0__value="36.5", move=str(moved.pk))
    assert form.press("save", move=str(moved.pk)).status_code == 302
    moved.refresh_from_db()
    stays.refresh_from_db()
    assert (moved.programme_version.number, stays.programme_version.number) == (2, 1)


def test_the_look_says_what_would_not_fit_and_which_steps_change(browser, own, world):  # noqa: F811
    world.add_batch("Spring", programme=str(own.pk), birds=40, housing="Brooder 2")
    form = Form(browser, own)
    page = text(form.press("look", area_m2__1__value="0.5", temp_c__3__value="28"))
    assert "This would not fit any more" in page
    assert "Brooder 2" in page
    assert "Spring: next steps" in page
    assert page.count("<svg") == 2


def test_a_built_in_programme_is_not_edited(browser, world):  # noqa: F811
    answer = browser.get("/settings/programmes/duck/edit/", follow=True)
    assert "Copy this one and edit the copy." in text(answer)


def test_the_largest_form_stays_within_what_a_request_may_carry(browser, world):  # noqa: F811
    for source in ("chicken_meat", "turkey_large", "chicken_layer_brown"):
        copied = programmes.copy(world.by, source=source, name=f"Our {source}")
        assert len(Form(browser, copied).fields) < 800


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    typed=st.dictionaries(
        st.sampled_from(
            ["temp_c.0.value", "temp_c.1.day", "feeds.0.feed", "feeds.n7.day", "rules.hatch_g.value", "rules.x.value",
             "temp_c.x.value", "number", "over", "seen", "move", "add", "drop", "a.b.day"]
        ),
        st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\0"), max_size=12),
    )
)  # fmt: skip
def test_anything_typed_is_answered_and_never_saved_unlooked(browser, own, typed):  # noqa: F811
    answer = browser.post(f"/settings/programmes/{own.pk}/edit/", {"number": "1", "save": "1"} | typed)
    assert answer.status_code in (200, 302, 404)
    assert ProgrammeVersion.objects.filter(programme=own).count() == 1
