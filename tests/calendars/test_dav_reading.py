"""What comes in: XML without traps, filters of queries, and bytes of any kind where a to-do should be."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendars.dav import asked, xml
from calendars.dav.answers import Refused
from tests.calendars.dav_world import C, D, an_app, condition, planted, query, spaced, told
from tests.conftest import TODAY
from tests.farm.judging import day
from tests.farm.rota_world import key, people

OURS = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VTODO\r\nUID:u\r\nDTSTAMP:20260501T000000Z\r\n"
    "DUE;VALUE=DATE:20260501\r\nSUMMARY:Look\r\nDESCRIPTION:Why\r\nSTATUS:NEEDS-ACTION\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
)
BOMB = (
    '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    '<d:propfind xmlns:d="DAV:"><d:prop><d:x>&b;</d:x></d:prop></d:propfind>'
)
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><d:propfind xmlns:d="DAV:">&a;</d:propfind>'
PLAIN_TYPE = '<!DOCTYPE propfind><propfind xmlns="DAV:"><allprop/></propfind>'


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


@pytest.mark.parametrize("body", [BOMB, OUTSIDE, PLAIN_TYPE])
@pytest.mark.parametrize("method", ["PROPFIND", "REPORT"])
def test_document_types_and_entities_are_refused(app, body, method):
    response = app.ask(method, app.list, body, depth="0")
    assert (response.status_code, response.content) == (400, b"This request could not be read.\n")


@pytest.mark.parametrize(
    "body",
    [
        *("<", "hello", "<a></b>", "<a/><b/>", "<propfind/>", "<d:propfind/>", "\x00", "<a>\xff</a>", "&#0;"),
        "<a>" * (xml.MOST_DEEP + 1) + "</a>" * (xml.MOST_DEEP + 1),
        "<a>" + "<b/>" * xml.MOST_ELEMENTS + "</a>",
        '<?xml version="1.0" encoding="no-such"?><a/>',
    ],
)
def test_what_is_no_request_is_refused_plainly(app, body):
    assert app.ask("PROPFIND", app.list, body.encode("latin-1"), depth="0").status_code == 400


def test_too_much_is_refused_before_it_is_read(app, world):
    big = "<a>" + "x" * xml.MOST_BYTES + "</a>"
    assert app.ask("PROPFIND", app.list, big, depth="0").status_code == 413
    assert app.ask("REPORT", app.list, big, depth="0").status_code == 413
    assert app.put(key(world, "look"), big).status_code == 413


@pytest.mark.parametrize(
    "body", ["<d:expand-property/>", "<d:principal-search-property-set/>", "<c:free-busy-query/>"]
)
def test_other_reports_are_refused_by_name(app, body):
    response = app.report(body, status=403)
    assert condition(response) == f"{D}supported-report"


def test_reports_are_of_lists_only(app):
    assert (
        condition(app.report(query('<c:comp-filter name="VCALENDAR"/>'), path="/dav/", status=403))
        == f"{D}supported-report"
    )


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_as_xml(body):
    with suppress(xml.Unreadable):
        xml.read(body)


@given(st.recursive(st.text(max_size=8), lambda inner: st.lists(inner, max_size=4), max_leaves=12))
def test_what_is_written_is_read_back(content):
    def made(inside, tag=f"{xml.DAV}a"):
        if isinstance(inside, str):
            return xml.element(tag, inside)
        return xml.element(tag, *(made(one) for one in inside))

    root = made(content)
    read = xml.read(xml.written(root))
    assert [one.tag for one in read.iter()] == [one.tag for one in root.iter()]
    kept = "".join(root.itertext()).replace("\r\n", "\n").replace("\r", "\n")
    assert "".join(read.itertext()) == kept


lines = st.one_of(
    st.sampled_from(
        [
            *OURS.split("\r\n"),
            "RRULE:FREQ=DAILY",
            "BEGIN:VALARM",
            "END:VALARM",
            "STATUS:COMPLETED",
            "PERCENT-COMPLETE:x",
            "DUE:x",
            "X-A:1",
            "COMPLETED:20260501T000000Z",
            "CATEGORIES:a,b",
            "DUE;TZID=No/Where:20260501T000000",
            " fold",
        ]
    ),
    st.text(max_size=30),
)


@given(st.lists(lines, max_size=25).map("\r\n".join))
def test_any_lines_are_a_wish_or_refused(text):
    with suppress(Refused):
        assert asked.read(text.encode("utf-8", "replace"), OURS).done in (True, False)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_wish_or_refused(sent):
    with pytest.raises(Refused):
        asked.read(sent, OURS)


@given(st.lists(st.text(max_size=40), max_size=8))
def test_kept_lines_are_whole_lines_without_controls(texts):
    body = OURS.replace("END:VTODO", "\r\n".join([*(f"X-T:{text}" for text in texts), "END:VTODO"]))
    for kept in asked.extras(body).values():
        for line in kept:
            assert line.startswith("X-T:")
            assert len(line.splitlines()) == 1
            assert asked.extras(line) == {"X-T": (line,)}


RANGE = '<c:time-range start="{}T000000Z" end="{}T000000Z"/>'


def between(start, end):
    return RANGE.format(f"{start:%Y%m%d}", f"{end:%Y%m%d}")


def test_a_query_by_time_finds_what_falls_into_it(app, world):
    found = app.query(between(TODAY, day(1)))
    assert {app.path(key(world, job)) for job in ("look", "feed_water", "heat_check")} <= found
    assert app.path(key(world, "look", 2)) not in found
    assert app.path(key(world, "look", -1)) not in found
    assert app.query(between(day(-30), day(60))) == app.query()
    assert app.query(between(day(60), day(90))) == set()
    assert (
        app.query('<c:time-range start="20260501T000000Z"/>')
        | app.query('<c:time-range end="20260501T000000Z"/>')
        == app.query()
    )


def prop(name, inside):
    return f'<c:prop-filter name="{name}">{inside}</c:prop-filter>'


def match(text, **attributes):
    said = "".join(f' {name.replace("_", "-")}="{value}"' for name, value in attributes.items())
    return f"<c:text-match{said}>{text}</c:text-match>"


ABSENT = "<c:is-not-defined/>"


def test_the_usual_questions_for_open_to_dos(app, world):
    before = app.query()
    look = app.path(key(world, "look"))
    app.tick(key(world, "look"))
    for inside in (
        prop("COMPLETED", ABSENT),
        prop("STATUS", match("COMPLETED", negate_condition="yes")),
        prop("STATUS", match("needs-action")),
        prop("COMPLETED", ABSENT) + prop("STATUS", match("CANCELLED", negate_condition="yes")),
        prop("PERCENT-COMPLETE", ABSENT),
    ):
        assert app.query(inside) == before - {look}
    assert app.query(prop("COMPLETED", "")) == {look}
    assert app.query(prop("COMPLETED", between(day(0), day(1)))) == {look}
    assert app.query(prop("COMPLETED", between(day(1), day(2)))) == set()


def test_questions_by_text(app, world):
    uid = str(app.todo(key(world, "look"))["UID"])
    assert app.query(prop("UID", match(uid))) == {app.path(key(world, "look"))}
    assert app.query(prop("SUMMARY", match("brooder 1"))) == app.query(prop("summary", match("BROODER 1")))
    assert app.query(prop("SUMMARY", match("BROODER 1", collation="i;octet"))) == set()
    assert app.query(prop("CATEGORIES", match("morning")))
    assert app.query(prop("X-NOTHING", ABSENT)) == app.query()
    assert app.query(prop("X-NOTHING", match("x", negate_condition="yes"))) == set()


@pytest.mark.parametrize(
    ("inside", "all_of_it"),
    [
        ('<c:comp-filter name="VCALENDAR"/>', True),
        ('<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO"/></c:comp-filter>', True),
        ('<c:comp-filter name="VCALENDAR"><c:comp-filter name="VEVENT"/></c:comp-filter>', False),
        (
            f'<c:comp-filter name="VCALENDAR"><c:comp-filter name="VEVENT">{ABSENT}</c:comp-filter></c:comp-filter>',
            True,
        ),
        (
            f'<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO">{ABSENT}</c:comp-filter></c:comp-filter>',
            False,
        ),
        (
            '<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO"><c:comp-filter name="VALARM">'
            f"{ABSENT}</c:comp-filter></c:comp-filter></c:comp-filter>",
            True,
        ),
        (
            '<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO"><c:comp-filter name="VALARM"/>'
            "</c:comp-filter></c:comp-filter>",
            False,
        ),
    ],
)
def test_questions_by_component(app, inside, all_of_it):
    assert set(told(app.report(query(inside)))) == (app.query() if all_of_it else set())


@pytest.mark.parametrize(
    ("filter_", "broken"),
    [
        ("", f"{C}valid-filter"),
        ('<c:comp-filter name="VTODO"/>', f"{C}valid-filter"),
        ('<c:comp-filter name="VCALENDAR"><c:prop-filter name="X"/></c:comp-filter>', f"{C}supported-filter"),
        *(
            (
                f'<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO">{inside}</c:comp-filter></c:comp-filter>',
                C + broken,
            )
            for inside, broken in (
                ("<c:time-range/>", "valid-filter"),
                ('<c:time-range start="20260501"/>', "valid-filter"),
                ('<c:time-range start="20260501T000000"/>', "valid-filter"),
                (between(day(1), day(0)), "valid-filter"),
                (between(day(1), day(1)), "valid-filter"),
                ("<d:x/>", "supported-filter"),
                (prop("UID", '<c:param-filter name="X"/>'), "supported-filter"),
                (prop("UID", match("x", collation="i;unicode-casemap")), "supported-collation"),
            )
        ),
    ],
)
def test_questions_that_are_not_understood_are_refused_by_the_condition(app, filter_, broken):
    assert condition(app.report(query(filter_), status=403)) == broken
    assert spaced(query(filter_)).startswith("<c:calendar-query xmlns")


def test_a_query_with_the_texts_has_them(app, world):
    wanted = '<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO"/></c:comp-filter>'
    found = told(app.report(query(wanted, "<d:getetag/><c:calendar-data/><d:displayname/>")))
    for props in found.values():
        assert props[f"{C}calendar-data"].text.startswith("BEGIN:VCALENDAR")
        assert f"{D}displayname" not in props


def test_a_query_at_depth_0_looks_at_no_to_do_but_at_one_itself(app, world):
    wanted = query('<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO"/></c:comp-filter>')
    path = app.path(key(world, "look"))
    assert told(app.report(wanted, depth="0")) == {}
    assert set(told(app.report(wanted, depth="0", path=path))) == {path}
