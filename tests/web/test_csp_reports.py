"""What browsers tell of refused scripts is counted and logged, and nothing personal of it is kept."""

import io
import json
import logging

import pytest
from django.core.cache import cache
from django.test import Client, override_settings
from django.urls import reverse

from farm.settings.redact import RedactingFormatter
from farm.web import csp_reports
from farm.web.csp_reports import MOST_A_MINUTE, MOST_BYTES, NEW, OLD

URL = reverse("csp-reports")
SECRET = "/my/Ab3_-defghijklmnopqrstuvwxyz0123/"
OLDER = {
    "csp-report": {
        "document-uri": f"https://birds.example{SECRET}",
        "referrer": "https://birds.example/c/s3cr3t.ics",
        "violated-directive": "script-src-attr",
        "effective-directive": "script-src-attr",
        "blocked-uri": "inline",
        "script-sample": "alert('Ada')",
    }
}
NEWER = [
    {
        "type": "csp-violation",
        "age": 10,
        "url": f"https://birds.example{SECRET}",
        "user_agent": "Somebody's",
        "body": {
            "documentURL": f"https://birds.example{SECRET}",
            "effectiveDirective": "img-src",
            "blockedURL": "https://elsewhere.example/track?who=ada",
        },
    },
    {"type": "deprecation", "body": {"id": "x"}},
]


@pytest.fixture(autouse=True)
def _fresh_counts():
    cache.clear()


@pytest.fixture
def said():
    """What the module logs, as the settings format it."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(RedactingFormatter("%(message)s"))
    csp_reports.log.addHandler(handler)
    yield stream
    csp_reports.log.removeHandler(handler)


def send(body, kind=OLD, **more):
    sent = body if isinstance(body, bytes) else json.dumps(body).encode()
    return Client(enforce_csrf_checks=True).post(URL, sent, content_type=kind, **more)


def test_every_page_names_where_reports_go(client, db):
    policy = client.get(reverse("login"))["Content-Security-Policy"]
    assert "report-uri /csp-reports/" in policy
    assert "report-to" not in policy  # not believed without TLS, and report-uri would be passed over


@override_settings(TLS=True)
def test_over_tls_a_header_names_the_endpoint_of_the_newer_format(client, db):
    assert client.get(reverse("login"))["Reporting-Endpoints"] == 'csp="/csp-reports/"'


def test_a_report_of_the_older_format_is_counted(db, said):
    assert send(OLDER).status_code == 204
    assert csp_reports.counted() == 1
    assert said.getvalue() == "A browser refused inline by the rule script-src-attr.\n"


def test_reports_of_the_newer_format_are_counted_and_others_passed_over(db, said):
    assert send(NEWER, NEW).status_code == 204
    assert csp_reports.counted() == 1
    assert said.getvalue() == "A browser refused elsewhere.example by the rule img-src.\n"


def test_nothing_but_rule_and_host_is_kept(db, said):
    send(OLDER)
    send(NEWER, NEW)
    kept = said.getvalue() + repr(cache._cache)
    for private in ("Ab3_", "s3cr3t", "Ada", "who=", "Somebody", "birds.example", "127.0.0.1"):
        assert private not in kept


@pytest.mark.parametrize(
    "body, kind, status",
    [
        (b"{", OLD, 400),
        (b"[" * 5000, NEW, 400),
        (b"\xff\xfe", OLD, 400),
        ({"csp-report": "x"}, OLD, 400),
        ([], OLD, 400),
        ({}, NEW, 400),
        ([{"type": "csp-violation", "body": {}}] * 21, NEW, 400),
        (OLDER, "application/json", 415),
        (OLDER, "text/plain", 415),
        ({"csp-report": {"script-sample": "x" * MOST_BYTES}}, OLD, 413),
    ],
)
def test_what_is_no_report_is_refused_and_not_counted(db, body, kind, status):
    assert send(body, kind).status_code == status
    assert csp_reports.counted() == 0


@pytest.mark.parametrize(
    "report, line",
    [
        ({"effective-directive": 7, "blocked-uri": ["x"]}, "unknown by the rule unknown"),
        (
            {"violated-directive": "img-src 'self'", "blocked-uri": "https://[bad"},
            "unknown by the rule img-src",
        ),
        ({"effective-directive": "a\nb forged", "blocked-uri": "x\ny"}, "unknown by the rule unknown"),
    ],
)
def test_a_line_of_the_log_cannot_be_forged(db, said, report, line):
    assert send({"csp-report": report}).status_code == 204
    assert said.getvalue() == f"A browser refused {line}.\n"


def test_one_address_cannot_flood_it_and_others_go_on(db):
    status = [send(OLDER, REMOTE_ADDR="192.0.2.1").status_code for _ in range(MOST_A_MINUTE + 5)]
    assert status == [204] * MOST_A_MINUTE + [429] * 5
    assert send(OLDER, REMOTE_ADDR="198.51.100.7").status_code == 204
    assert csp_reports.counted() == MOST_A_MINUTE + 1


def test_it_only_takes(client, db):
    assert client.get(URL).status_code == 405
