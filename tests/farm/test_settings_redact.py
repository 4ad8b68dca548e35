"""No log line opens a calendar, an invitation or a password reset."""

import io
import logging

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.settings.redact import RedactingFormatter, redact

TOKEN = st.text("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_", min_size=8, max_size=64)


@pytest.mark.parametrize(
    "line, clean",
    [
        ("GET /c/s3cr3t.ics 404", "GET /c/[secret] 404"),
        ("Not Found: /c/s3cr3t", "Not Found: /c/[secret]"),
        (
            "webcal://birds.example/c/s3cr3t.ics?x=1 twice /c/other",
            "webcal://birds.example/c/[secret]?x=1 twice /c/[secret]",
        ),
        ("'/reset/MQ/set-password-token/'", "'/reset/[secret]'"),
        ("GET /join/s3cr3t/ 404", "GET /join/[secret] 404"),
        ("GET /my/Ab3_-defghijklmnopqrstuvwxyz0123/sync/ 404", "GET /my/[secret]/sync/ 404"),
        ("start_url: '/my/Ab3_-defghijklmnopqrstuvwxyz0123/'", "start_url: '/my/[secret]/'"),
        ("/my/ /my/sync/ /my/reminders/settings/ /my/manifest.webmanifest stay",) * 2,
        ("/my/photo/7/ and /my/swaps/7/accept/ and /economy/abcdefghijklmnopqrstuvwxyz012345 stay",) * 2,
        ("/batches/7/ and /calendars/ stay", "/batches/7/ and /calendars/ stay"),
    ],
)
def test_only_what_follows_a_secret_address_is_blotted_out(line, clean):
    assert redact(line) == clean


@given(
    TOKEN, st.sampled_from(["/c/{}.ics", "GET /c/{} HTTP/1.1", '"/c/{}"', "https://a.example/c/{}.ics?v=2"])
)
def test_no_token_survives_in_any_shape_of_line(token, shape):
    assert token not in redact(shape.format(token))


@given(
    st.text("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_", min_size=32, max_size=32),
    st.sampled_from(
        ["/my/{}/", "POST /my/{}/sync/ HTTP/1.1", '"https://a.example/my/{}/"', "/my/{}extra", "'/my/{}'"]
    ),
)
def test_no_personal_link_survives_in_any_shape_of_line(secret, shape):
    assert secret not in redact(shape.format(secret))


def logged(act):
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(RedactingFormatter("%(levelname)s %(message)s"))
    logger = logging.Logger("trial")
    logger.addHandler(handler)
    act(logger)
    return stream.getvalue()


def test_arguments_of_a_log_call_are_redacted():
    assert (
        logged(lambda log: log.warning("Not Found: %s", "/c/s3cr3t.ics"))
        == "WARNING Not Found: /c/[secret]\n"
    )


def test_a_traceback_is_redacted():
    def fail(log):
        try:
            raise ValueError("cannot read /c/s3cr3t.ics")
        except ValueError:
            log.exception("broken")

    text = logged(fail)
    assert "s3cr3t" not in text
    assert "ValueError: cannot read /c/[secret]" in text
