"""Messages that only one browser can read: RFC 8291 over RFC 8188, so that push services carry what they can't open."""

from __future__ import annotations

import os
import struct

from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDH,
    SECP256R1,
    EllipticCurvePrivateKey,
    EllipticCurvePublicKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

#: What every push service takes (RFC 8291 §4), and what is left of it for the text: less the header with a key of 65
#: bytes (RFC 8188 §2.1), the delimiter and the tag.
MOST_BYTES = 4096
MOST_TEXT_BYTES = MOST_BYTES - (16 + 4 + 1 + 65) - 1 - 16
#: Lengths in bytes: salt (RFC 8188 §2.1), the browser's secret (RFC 8291 §3.2), a point written out.
SALT_BYTES, AUTH_BYTES, POINT_BYTES = 16, 16, 65
_LAST_RECORD = b"\x02"


def for_browser(
    text: bytes,
    *,
    browser: bytes,
    auth: bytes,
    salt: bytes | None = None,
    once: EllipticCurvePrivateKey | None = None,
) -> bytes:
    """Return the body of a push message: `text` for the holder of the public key `browser` and the secret `auth`.

    salt and once (the key pair of this one message): fresh random ones; given only by tests. Raises ValueError for a
    key that is none, and for a text that is too long.
    """
    if len(auth) != AUTH_BYTES:
        raise ValueError("an authentication secret has 16 bytes")
    if len(text) > MOST_TEXT_BYTES:
        raise ValueError("too long for a push message")
    theirs = EllipticCurvePublicKey.from_encoded_point(SECP256R1(), browser)
    once = once or generate_private_key(SECP256R1())
    ours = point(once.public_key())
    info = b"WebPush: info\x00" + browser + ours
    secret = _derived(once.exchange(ECDH(), theirs), auth, info, 32)
    return one_record(text, secret, salt or os.urandom(SALT_BYTES), key_id=ours)


def one_record(
    text: bytes, secret: bytes, salt: bytes, *, key_id: bytes = b"", size: int = MOST_BYTES
) -> bytes:
    """Return `text` in the content coding aes128gcm (RFC 8188), as its one and last record. size: of records, bytes.

    Raises ValueError when it does not fit.
    """
    if len(salt) != SALT_BYTES:
        raise ValueError("a salt has 16 bytes")
    if len(text) + len(_LAST_RECORD) + 16 > size:
        raise ValueError("more than one record")
    key = _derived(secret, salt, b"Content-Encoding: aes128gcm\x00", 16)
    nonce = _derived(secret, salt, b"Content-Encoding: nonce\x00", 12)
    header = salt + struct.pack("!IB", size, len(key_id)) + key_id
    return header + AESGCM(key).encrypt(nonce, text + _LAST_RECORD, None)


def point(key: EllipticCurvePublicKey) -> bytes:
    """Return a public key as the uncompressed point browsers write."""
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def _derived(secret: bytes, salt: bytes, info: bytes, length: int) -> bytes:
    return HKDF(algorithm=SHA256(), length=length, salt=salt, info=info).derive(secret)
