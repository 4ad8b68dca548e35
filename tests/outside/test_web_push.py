"""Web Push against the standards that define it and libraries that share no code with ours.

- RFC 8188 (Encrypted Content-Encoding for HTTP), section 3.1: its example, byte for byte.
- RFC 8291 (Message Encryption for Web Push), section 5 and appendix A: its example, byte for byte.
- RFC 8292 (VAPID), section 2.4: its example token, and ours, checked by PyJWT and by arithmetic on the curve.
- `http-ece` (Martin Thomson, an author of these RFCs) decrypts what we encrypt.
"""

from __future__ import annotations

import hashlib
import re
from base64 import urlsafe_b64decode
from datetime import UTC, datetime, timedelta

import http_ece
import jwt
import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.ec import (
    SECP256R1,
    EllipticCurvePublicKey,
    derive_private_key,
    generate_private_key,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.services.channels import vapid
from farm.services.channels.encryption import MOST_TEXT_BYTES, for_browser, one_record, point

NOW = datetime(2026, 5, 1, 10, 0, tzinfo=UTC)


def b64(text: str) -> bytes:
    text = re.sub(r"\s", "", text)
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def private(text: str):
    return derive_private_key(int.from_bytes(b64(text), "big"), SECP256R1())


# RFC 8188, 3.1
WALRUS = b"I am the walrus"
WALRUS_KEY, WALRUS_SALT = b64("yqdlZ-tYemfogSmv7Ws5PQ"), b64("I1BsxtFttlv3u_Oo94xnmw")
WALRUS_BODY = b64("I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg")

# RFC 8291, 5 and appendix A
MELON = b"When I grow up, I want to be a watermelon"
SENDER = private("yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw")
SENDER_POINT = b64("BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8")
RECEIVER = private("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94")
RECEIVER_POINT = b64(
    "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
)
AUTH, SALT = b64("BTBZMqHH6r4Tts7J_aSIgg"), b64("DGv6ra1nlYgDCS1FRnbzlw")
MELON_BODY = b64(
    """DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27ml
       mlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPT
       pK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"""
)

# RFC 8292, 2.4
RFC_TOKEN = re.sub(
    r"\s",
    "",
    """eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1
       MjM3NjgsInN1YiI6Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0.i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9
       ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA""",
)
RFC_KEY = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"


def test_the_walrus_of_rfc_8188_byte_for_byte() -> None:
    assert one_record(WALRUS, WALRUS_KEY, WALRUS_SALT) == WALRUS_BODY


def test_the_watermelon_of_rfc_8291_byte_for_byte() -> None:
    assert for_browser(MELON, browser=RECEIVER_POINT, auth=AUTH, salt=SALT, once=SENDER) == MELON_BODY


def test_the_rfcs_key_pairs_are_pairs() -> None:
    assert point(SENDER.public_key()) == SENDER_POINT
    assert point(RECEIVER.public_key()) == RECEIVER_POINT


def test_the_judge_reads_the_rfcs_own_messages() -> None:
    assert http_ece.decrypt(WALRUS_BODY, key=WALRUS_KEY) == WALRUS
    assert http_ece.decrypt(MELON_BODY, private_key=RECEIVER, auth_secret=AUTH) == MELON


@settings(max_examples=60)
@given(st.binary(max_size=MOST_TEXT_BYTES), st.binary(min_size=16, max_size=16))
def test_another_library_reads_whatever_we_encrypt(text: bytes, auth: bytes) -> None:
    hers = generate_private_key(SECP256R1())
    body = for_browser(text, browser=point(hers.public_key()), auth=auth)
    assert http_ece.decrypt(body, private_key=hers, auth_secret=auth) == text


@settings(max_examples=30)
@given(st.binary(max_size=200), st.text(max_size=60), st.integers(300, 100_000))
def test_another_library_reads_records_of_any_size_and_name(text: bytes, name: str, size: int) -> None:
    body = one_record(text, WALRUS_KEY, WALRUS_SALT, key_id=name.encode(), size=size)
    assert http_ece.decrypt(body, key=WALRUS_KEY) == text


@pytest.mark.parametrize("place", [0, 20, 30, 90, -1])
def test_no_changed_message_is_ever_read(place: int) -> None:
    """Salt, length of the key, key, text, tag; the record size alone is free to be larger (RFC 8188, 2.1)."""
    body = bytearray(MELON_BODY)
    body[place] ^= 1
    with pytest.raises((http_ece.ECEException, InvalidTag, ValueError)):
        http_ece.decrypt(bytes(body), private_key=RECEIVER, auth_secret=AUTH)


def test_neither_another_browser_nor_another_secret_reads_it() -> None:
    for key, auth in ((generate_private_key(SECP256R1()), AUTH), (RECEIVER, b"x" * 16)):
        with pytest.raises((http_ece.ECEException, InvalidTag)):
            http_ece.decrypt(MELON_BODY, private_key=key, auth_secret=auth)


def header(endpoint: str, now: datetime = NOW) -> tuple[str, str]:
    """Return token and key of our Authorization header, which RFC 8292 section 3 lays out."""
    matched = re.fullmatch(r"vapid t=([\w.-]+), k=([\w-]+)", vapid.authorization(endpoint, now))
    assert matched
    return matched[1], matched[2]


def claims(token: str, key: str, audience: str) -> dict[str, object]:
    public = EllipticCurvePublicKey.from_encoded_point(SECP256R1(), b64(key))
    return jwt.decode(token, public, algorithms=["ES256"], audience=audience, options={"verify_exp": False})


def test_the_judge_takes_the_rfcs_own_token() -> None:
    assert claims(RFC_TOKEN, RFC_KEY, "https://push.example.net")["sub"] == "mailto:push@example.com"
    assert holds(RFC_TOKEN, RFC_KEY)


@pytest.mark.parametrize(
    "endpoint, audience",
    [
        ("https://push.example.net/push/JzLQ3raZJfFBR0aqvOMsLrt54w4rJUsV?x=1", "https://push.example.net"),
        ("https://push.example.net:8443/a", "https://push.example.net:8443"),
    ],
)
def test_our_token_says_for_whom_until_when_and_from_whom(endpoint: str, audience: str) -> None:
    token, key = header(endpoint)
    said = claims(token, key, audience)
    assert said["aud"] == audience
    assert NOW < datetime.fromtimestamp(said["exp"], UTC) <= NOW + timedelta(hours=24)
    assert str(said["sub"]).startswith(("https://", "mailto:"))
    assert jwt.get_unverified_header(token) == {"typ": "JWT", "alg": "ES256"}


def test_our_token_holds_by_arithmetic_alone_and_a_changed_one_does_not() -> None:
    token, key = header("https://push.example.net/")
    assert holds(token, key)
    assert not holds(token.replace("ey", "eZ", 1), key)


def test_a_signature_whose_half_begins_with_zeros_is_as_long_as_any() -> None:
    """About one token in 128; written without its zeros, push services would refuse it."""
    for number in range(5_000):
        token, key = header(f"https://push.example.net:{number + 1}/")
        signature = b64(token.rpartition(".")[2])
        assert len(signature) == 64
        if 0 in (signature[0], signature[32]):
            assert holds(token, key)
            return
    pytest.fail("no such token in 5000")


def test_the_contact_is_the_site_where_it_has_one_and_else_the_sender(settings) -> None:
    settings.ADDRESS = "https://birds.example"
    assert vapid.contact() == "https://birds.example"
    settings.ADDRESS, settings.DEFAULT_FROM_EMAIL = "http://localhost:8000", "Birds <birds@birds.example>"
    assert vapid.contact() == "mailto:birds@birds.example"


def test_the_public_key_is_the_point_browsers_ask_for(settings) -> None:
    settings.PUSH_KEY = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
    assert b64(vapid.public_key()) == SENDER_POINT
    assert "=" not in vapid.public_key()


# ECDSA on P-256 written out (FIPS 186-5, 6.4.2; SP 800-186, 3.2.1.3), sharing nothing with the library that signs.
P = 2**256 - 2**224 + 2**192 + 2**96 - 1
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
G = (
    0x6B17D1F2E12C4247F8BCE6E563A440F277037D812DEB33A0F4A13945D898C296,
    0x4FE342E2FE1A7F9B8EE7EB4A7C0F9E162BCE33576B315ECECBB6406837BF51F5,
)
Point = tuple[int, int] | None


def add(a: Point, b: Point) -> Point:
    if a is None or b is None:
        return b if a is None else a
    if a[0] == b[0] and (a[1] + b[1]) % P == 0:
        return None
    top, below = (3 * a[0] ** 2 - 3, 2 * a[1]) if a == b else (b[1] - a[1], b[0] - a[0])
    slope = top * pow(below, -1, P)
    x = (slope**2 - a[0] - b[0]) % P
    return x, (slope * (a[0] - x) - a[1]) % P


def times(number: int, a: Point) -> Point:
    found: Point = None
    while number:
        if number & 1:
            found = add(found, a)
        a, number = add(a, a), number >> 1
    return found


def holds(token: str, key: str) -> bool:
    signed, _, signature = token.rpartition(".")
    raw, theirs = b64(signature), b64(key)
    assert (len(raw), len(theirs), theirs[0]) == (64, 65, 4)
    r, s = int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big")
    digest = int.from_bytes(hashlib.sha256(signed.encode()).digest(), "big")
    inverse = pow(s, -1, ORDER)
    public = (int.from_bytes(theirs[1:33], "big"), int.from_bytes(theirs[33:], "big"))
    found = add(times(digest * inverse % ORDER, G), times(r * inverse % ORDER, public))
    return found is not None and found[0] % ORDER == r
