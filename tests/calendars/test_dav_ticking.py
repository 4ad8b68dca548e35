"""PUT: ticks, their taking back, and every edit that is refused."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import partial

import pytest

from farm.models import ChoreMark, HistoryEntry, OwnChore
from farm.models.history import Face
from farm.planning.window import Window
from farm.queries import agenda
from farm.services import chores, own_chores
from tests.calendars.dav_world import C, D, F, an_app, condition, opened, planted, ticked, with_lines
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import key, people

DONE = ["STATUS:COMPLETED", "COMPLETED:20260501T093000Z", "PERCENT-COMPLETE:100"]


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


@pytest.fixture
def look(world):
    return key(world, "look")


def marks():
    return {(mark.source, mark.due, mark.round): mark for mark in ChoreMark.objects.all()}


def test_a_tick_is_a_mark_of_that_member_from_a_calendar(app, look, who):
    response = app.tick(look)
    assert (response.status_code, response.content, "ETag" in response) == (204, b"", False)
    assert not {"Content-Length", "Content-Type"} & set(response.headers)
    mark = marks()[look]
    assert (mark.state, mark.member, mark.at) == ("done", who["Ada"].member, NOON)
    entry = HistoryEntry.objects.latest("pk")
    assert (entry.verb, entry.face, entry.member) == ("tick", Face.CALENDAR, who["Ada"].member)
    todo = app.todo(look)
    assert (str(todo["STATUS"]), todo["PERCENT-COMPLETE"], todo["COMPLETED"].dt) == ("COMPLETED", 100, NOON)


def test_a_tick_keeps_what_fairness_and_history_need(app, look, world):
    app.tick(look)
    (item,) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.occurrence == look)
    assert (marks()[look].minutes, marks()[look].title) == (item.minutes, str(app.todo(look)["SUMMARY"]))


@pytest.mark.parametrize("sign", DONE)
@pytest.mark.parametrize("kept", [True, False])
def test_any_one_of_the_three_signs_is_a_tick(app, look, sign, kept):
    body = app.get(look).content.decode()
    if not kept or sign.startswith("STATUS"):
        body = body.replace("STATUS:NEEDS-ACTION\r\n", "")
    assert app.put(look, with_lines(body, sign)).status_code == 204
    assert marks()[look].state == "done"


@pytest.mark.parametrize(
    "change",
    [
        opened,
        lambda body: body.replace("STATUS:COMPLETED", "STATUS:NEEDS-ACTION"),
        lambda body: opened(body).replace("STATUS:NEEDS-ACTION\r\n", ""),
        lambda body: opened(body).replace("STATUS:NEEDS-ACTION\r\n", "PERCENT-COMPLETE:0\r\n"),
    ],
)
def test_a_tick_is_taken_back(app, look, change):
    app.tick(look)
    assert app.put(look, change(app.get(look).content.decode())).status_code == 204
    assert marks() == {}
    assert str(app.todo(look)["STATUS"]) == "NEEDS-ACTION"
    assert HistoryEntry.objects.latest("pk").verb == "untick"


def test_sending_the_same_back_changes_nothing(app, look):
    before = app.get(look)
    assert app.put(look, before.content).status_code == 204
    after = app.get(look)
    assert (after.content, after["ETag"]) == (before.content, before["ETag"])
    assert marks() == {}


def test_ticking_twice_is_one_mark_and_the_first_stands(app, look, who):
    body = ticked(app.get(look).content.decode())
    ben = an_app(who["Ben"])
    bens = ticked(ben.get(look).content.decode())
    ben.put(look, bens)
    assert app.put(look, body).status_code == 204
    assert marks()[look].member == who["Ben"].member


def test_a_stale_tag_is_refused_and_a_fresh_one_taken(app, look, world):
    tag = app.get(look)["ETag"]
    body = ticked(app.get(look).content.decode())
    chores.mark(world.by, source=look[0], due=look[1], round=look[2], title="Look", minutes=1)
    before = marks()[look].pk
    assert app.put(look, body, if_match=tag).status_code == 412
    assert marks()[look].pk == before
    again = app.get(look)
    assert again["ETag"] != tag
    assert app.put(look, opened(again.content.decode()), if_match=again["ETag"]).status_code == 204
    assert marks() == {}


@pytest.mark.parametrize("form", ["{}", '"other", {}', "*"])
def test_every_form_of_a_fresh_condition_is_taken(app, look, form):
    assert app.tick(look, if_match=form.format(app.get(look)["ETag"])).status_code == 204


def test_a_weak_tag_never_matches(app, look):
    assert app.tick(look, if_match=f"W/{app.get(look)['ETag']}").status_code == 412


def test_what_must_not_be_there_yet_but_is_is_refused(app, look):
    assert app.tick(look, if_none_match="*").status_code == 412
    assert marks() == {}


def test_a_new_to_do_is_refused(app, look):
    body = app.get(look).content
    for name in ("0" * 32 + ".ics", "new.ics", "a.b.ics"):
        response = app.ask("PUT", app.list + name, body)
        assert (response.status_code, condition(response)) == (403, f"{D}need-privileges")
        assert b"bind" in response.content
        assert app.ask("PUT", app.list + name, body, if_match='"x"').status_code == 412
    assert app.ask("PUT", app.list, body).status_code == 403
    assert app.ask("PUT", "/dav/member-0/rounds/x.ics", body).status_code == 403


def without(body: str, name: str) -> str:
    unfolded = body.replace("\r\n ", "")
    return "\r\n".join(line for line in unfolded.split("\r\n") if not line.startswith(name))


EDITS = {
    "title": lambda body: body.replace("SUMMARY:", "SUMMARY:Not "),
    "no title": lambda body: without(body, "SUMMARY"),
    "no due": lambda body: without(body, "DUE"),
    "no text": lambda body: without(body, "DESCRIPTION"),
    "text": lambda body: body.replace("DESCRIPTION:", "DESCRIPTION:Not "),
    "day": lambda body: body.replace("DUE;TZID=Europe/Berlin:20260501", "DUE;TZID=Europe/Berlin:20260502"),
    "day, not time": lambda body: without(body, "DUE").replace(
        "END:VTODO", "DUE;VALUE=DATE:20260501\r\nEND:VTODO"
    ),
    "floating": lambda body: body.replace("DUE;TZID=Europe/Berlin:", "DUE:"),
    "place": lambda body: body.replace("LOCATION:", "LOCATION:Not "),
    "two titles": lambda body: with_lines(body, "SUMMARY:Two"),
    "alarm": lambda body: with_lines(body, "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:-PT5M", "END:VALARM"),
    "begun": lambda body: body.replace("STATUS:NEEDS-ACTION", "STATUS:IN-PROCESS"),
    "half": lambda body: with_lines(body, "PERCENT-COMPLETE:50"),
    "called off": lambda body: body.replace("STATUS:NEEDS-ACTION", "STATUS:CANCELLED"),
}


for _line in (
    *("PRIORITY:1", "COMMENT:x", "ATTENDEE:mailto:x@example.org", "RELATED-TO:x", "DURATION:PT1H"),
    *("CLASS:PRIVATE", "ATTACH:https://x.example/", "ORGANIZER:mailto:x@example.org", "GEO:1;2"),
):
    EDITS[_line] = partial(lambda line, body: with_lines(body, line), _line)


@pytest.mark.parametrize("name", EDITS)
@pytest.mark.parametrize("beside", [str, ticked])
def test_every_other_edit_is_refused_even_beside_a_tick(app, look, name, beside):
    body = app.get(look).content.decode()
    sent = EDITS[name](body)
    assert sent != body
    response = app.put(look, beside(sent))
    if (name, beside) in (("half", ticked),):
        assert response.status_code in (204, 403)
        return
    assert (response.status_code, condition(response)) in (
        (403, f"{F}only-ticks"),
        (403, f"{C}valid-calendar-data"),
    )
    assert app.get(look).content.decode() == body
    assert marks() == {}


@pytest.mark.parametrize(
    "line",
    [
        "RRULE:FREQ=DAILY",
        "RDATE:20260502T050000Z",
        "EXDATE:20260502T050000Z",
        "RECURRENCE-ID:20260501T050000Z",
        "EXRULE:FREQ=DAILY",
    ],
)
@pytest.mark.parametrize("beside", [str, ticked])
def test_repetition_is_refused(app, look, line, beside):
    response = app.put(look, with_lines(beside(app.get(look).content.decode()), line))
    assert (response.status_code, condition(response)) == (403, f"{C}valid-calendar-object-resource")
    assert marks() == {}


def test_an_exception_to_a_repeated_to_do_is_refused(app, look):
    body = app.get(look).content.decode()
    start, end = body.index("BEGIN:VTODO"), body.index("END:VCALENDAR")
    twice = body[:end] + with_lines(body[start:end], "RECURRENCE-ID:20260501T050000Z") + body[end:]
    response = app.put(look, twice)
    assert (response.status_code, condition(response)) == (403, f"{C}valid-calendar-object-resource")


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        (lambda body: body.replace("UID:todo", "UID:todox"), "valid-calendar-object-resource"),
        (
            lambda body: body.replace("VERSION:2.0", "VERSION:2.0\r\nMETHOD:PUBLISH"),
            "valid-calendar-object-resource",
        ),
        (lambda body: body.replace("VTODO", "VEVENT"), "supported-calendar-component"),
        (lambda body: body.replace("VTODO", "VJOURNAL"), "supported-calendar-component"),
        (lambda body: "", "valid-calendar-data"),
        (lambda body: "hello", "valid-calendar-data"),
        (lambda body: body[:-40], "valid-calendar-data"),
        (lambda body: body + body, "valid-calendar-data"),
        (lambda body: body.encode() + b"\xff", "valid-calendar-data"),
        (lambda body: "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", "valid-calendar-object-resource"),
        (lambda body: "BEGIN:VTODO\r\nEND:VTODO\r\n", "valid-calendar-data"),
        (lambda body: with_lines(body, "X-LONG:" + "x" * 70_000), "max-resource-size"),
    ],
)
def test_what_is_no_to_do_of_the_list_is_refused_by_the_condition_it_breaks(app, look, change, broken):
    response = app.put(look, change(app.get(look).content.decode()))
    assert (response.status_code, condition(response)) == (403, C + broken)
    assert marks() == {}


@pytest.mark.parametrize(
    "change",
    [
        lambda body: body.replace("DTSTAMP:2026", "DTSTAMP:2027"),
        lambda body: body.replace("SEQUENCE:0", "SEQUENCE:7"),
        lambda body: with_lines(body, "CREATED:20260501T000000Z", "PRIORITY:0", "CLASS:PUBLIC"),
        lambda body: body.replace("PRODID:-//Featherdays", "PRODID:-//Other"),
        lambda body: without(body, "CATEGORIES"),
        lambda body: without(body, "URL"),
        lambda body: body.replace("\r\n", "\n"),
        lambda body: body.replace("DUE;TZID=Europe/Berlin:20260501T090000", "DUE:20260501T070000Z"),
    ],
)
def test_what_apps_write_by_themselves_is_no_edit(app, look, change):
    body = app.get(look).content.decode()
    assert change(body) != body
    assert (
        app.put(look, ticked(change(body)).replace("STATUS:NEEDS-ACTION", "STATUS:COMPLETED")).status_code
        == 204
    )
    assert look in marks()


@pytest.mark.parametrize(
    ("method", "broken", "privilege"),
    [
        ("DELETE", "need-privileges", b"unbind"),
        ("MKCALENDAR", "need-privileges", b"bind"),
        ("MKCOL", "need-privileges", b"bind"),
        ("COPY", "need-privileges", b"bind"),
        ("MOVE", "need-privileges", b"unbind"),
        ("POST", "need-privileges", b"bind"),
        ("PATCH", "need-privileges", b"write-content"),
        ("LOCK", "need-privileges", b"write-content"),
        ("UNLOCK", "need-privileges", b"unlock"),
        ("ACL", "need-privileges", b"write-acl"),
        ("PROPPATCH", "cannot-modify-protected-property", b""),
        ("SEARCH", "need-privileges", b""),
        ("TRACE", "need-privileges", b""),
    ],
)
def test_every_other_verb_is_refused_everywhere_with_what_it_lacks(app, look, method, broken, privilege):
    before = app.get(look).content
    for path in (
        "/dav/",
        app.home,
        app.list,
        app.path(look),
        app.list + "nothing.ics",
        "/dav/member-0/rounds/",
    ):
        response = app.ask(method, path, "x", destination=f"http://testserver{app.list}y.ics")
        assert (response.status_code, condition(response)) == (403, D + broken)
        assert privilege in response.content
    assert app.get(look).content == before


def test_what_another_ticked_is_opened_again_on_the_pages_only(app, look, who):
    ben = an_app(who["Ben"])
    ben.tick(look)
    response = app.put(look, opened(app.get(look).content.decode()))
    assert (response.status_code, condition(response)) == (403, f"{F}only-ticks")
    assert b"Ben" in response.content
    assert marks()[look].member == who["Ben"].member


def test_what_was_left_out_shows_so_and_is_not_ticked_here(app, look, world):
    chores.mark(
        world.by, source=look[0], due=look[1], round=look[2], title="Look", state="skipped", note="rain"
    )
    body = app.get(look).content.decode()
    assert "STATUS:CANCELLED" in body
    for status in ("STATUS:COMPLETED", "STATUS:NEEDS-ACTION"):
        response = app.put(look, body.replace("STATUS:CANCELLED", status))
        assert response.status_code == 403
        assert condition(response) == f"{F}only-ticks"
    assert marks()[look].state == "skipped"


@pytest.mark.parametrize("asks", ["note", "photo"])
def test_what_asks_for_more_than_a_tick_is_ticked_on_its_page(app, world, asks):
    chore = own_chores.add(world.by, title="Weigh", start=TODAY, minutes=5, asks=asks)
    weigh = f"own:{chore.pk}/own_chore", TODAY, OwnChore.objects.get().round
    assert "tick it on its page" in str(app.todo(weigh)["DESCRIPTION"])
    assert condition(app.tick(weigh)) == f"{F}only-ticks"
    assert marks() == {}


def test_what_is_not_due_for_long_is_not_ticked_yet(app, world):
    far = key(world, "look", chores.EARLY_DAYS + 1)
    response = app.tick(far)
    assert (response.status_code, condition(response)) == (403, f"{D}need-privileges")
    assert app.tick(key(world, "look", chores.EARLY_DAYS)).status_code == 204


def test_unknown_lines_survive_a_tick_and_its_taking_back(app, look):
    own = ["X-APPLE-SORT-ORDER:5", 'X-NOTE;X-P="a;b":ü, \\n and; ' + "long " * 40]
    body = with_lines(app.get(look).content.decode(), *own)
    assert app.put(look, ticked(body)).status_code == 204
    for change in (opened, ticked, opened):
        text = app.get(look).content.decode().replace("\r\n ", "")
        assert [line for line in text.split("\r\n") if line.startswith("X-")] == own
        app.put(look, change(app.get(look).content.decode()))


def test_unknown_lines_alone_are_kept_and_change_the_tag_once(app, look):
    before = app.get(look)
    app.put(look, with_lines(before.content.decode(), "X-COLOUR:red"))
    after = app.get(look)
    assert after["ETag"] != before["ETag"]
    app.put(look, after.content)
    assert app.get(look)["ETag"] == after["ETag"]
    app.put(look, after.content.replace(b"X-COLOUR:red", b"X-COLOUR:blue"))
    assert app.get(look).content.count(b"X-COLOUR") == 1
    assert b"X-COLOUR:blue" in app.get(look).content


def test_unknown_lines_of_one_app_survive_another_that_drops_them(app, look):
    bare = app.get(look).content.decode()
    app.put(look, with_lines(bare, "X-ONE:1"))
    app.put(look, with_lines(ticked(bare), "X-TWO:2"))
    body = app.get(look).content
    assert (b"X-ONE:1\r\n" in body, b"X-TWO:2\r\n" in body) == (True, True)


def test_unknown_lines_are_their_members_own_and_of_one_occurrence(app, look, who, world):
    app.put(look, with_lines(app.get(look).content.decode(), "X-MINE:1"))
    assert b"X-MINE" not in an_app(who["Ben"]).get(look).content
    assert b"X-MINE" not in app.get(key(world, "look", 1)).content


def test_unknown_lines_inject_nothing(app, look):
    body = app.get(look).content.decode()
    app.put(
        look, with_lines(body, "X-A:\u2028END:VTODO", "X-B:a\x0bEND:VCALENDAR", "X-C:\rSUMMARY:z", "X-D:fine")
    )
    after = app.get(look).content
    assert after.count(b"END:VTODO") == after.count(b"END:VCALENDAR") == after.count(b"SUMMARY:") == 1


def test_too_many_unknown_lines_are_refused(app, look):
    body = app.get(look).content.decode()
    many = [f"X-N{number}:1" for number in range(31)]
    assert condition(app.put(look, with_lines(body, *many))) == f"{C}max-resource-size"
    assert app.put(look, with_lines(body, *many[:20])).status_code == 204
    assert (
        condition(app.put(look, with_lines(body, *(f"X-M{n}:1" for n in range(20)))))
        == f"{C}max-resource-size"
    )
    assert condition(app.put(look, with_lines(body, "X-LONG:" + "x" * 1_000))) == f"{C}max-resource-size"


def test_a_tick_of_what_was_put_off_marks_the_occurrence_it_was(app, world):
    from farm.services import postponing

    (step,) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.job == "heat_lower")
    source, due, round = step.occurrence
    uid = app.todo(step.occurrence)["UID"]
    postponing.put_off(world.by, source=source, due=due, round=round, to_due=day(1), to_round="evening")
    todo = app.todo(step.occurrence)
    assert todo["UID"] == uid
    assert todo["DUE"].dt >= day(1)
    app.tick(step.occurrence)
    assert list(marks()) == [step.occurrence]


def test_two_clocks_later_the_list_has_moved_on(app, look):
    app.tick(look)
    app.at = NOON + timedelta(days=7)
    assert isinstance(app.todo(look)["COMPLETED"].dt, datetime)
    app.at = NOON + timedelta(days=8)
    assert app.get(look).status_code == 404
