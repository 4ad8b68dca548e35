"""What is sealed can be read by the server that sealed it, and by nobody who has the database alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.errors import FarmError
from farm.services.channels.sealing import SealBroken, open_sealed, seal

SECRET = "ntfys://:tk_hush@ntfy.example/birds"
#: Whatever a database can hold.
TEXT = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXT)
def test_what_was_sealed_comes_back_as_it_was(text: str) -> None:
    assert open_sealed(seal(text)) == text


def test_a_seal_shows_nothing_and_is_never_the_same_twice() -> None:
    first, second = seal(SECRET), seal(SECRET)
    assert first != second
    assert "hush" not in first + second
    assert first.isascii()


def test_another_key_opens_nothing_and_says_what_to_do(settings) -> None:
    token = seal(SECRET)
    settings.SECRET_KEY = "another" * 10
    with pytest.raises(SealBroken, match="the server's key has changed") as refused:
        open_sealed(token)
    assert isinstance(refused.value, FarmError)
    assert "hush" not in str(refused.value)


def test_the_key_before_still_opens_and_new_seals_need_it_no_more(settings) -> None:
    old, token = settings.SECRET_KEY, seal(SECRET)
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another" * 10, [old]
    assert open_sealed(token) == SECRET
    newer = seal(SECRET)
    settings.SECRET_KEY_FALLBACKS = []
    assert open_sealed(newer) == SECRET
    with pytest.raises(SealBroken):
        open_sealed(token)


@given(st.data())
def test_no_changed_token_is_ever_opened(data: st.DataObject) -> None:
    token = seal(SECRET)
    place = data.draw(st.integers(0, len(token) - 5))  # the last characters may hold unused bits
    other = data.draw(st.sampled_from("ABCxyz019-_").filter(lambda one: one != token[place]))
    with pytest.raises(SealBroken):
        open_sealed(token[:place] + other + token[place + 1 :])


@pytest.mark.parametrize("token", ["", "plain text", "gAAAA", "ünicode", SECRET])
def test_what_never_was_a_seal_is_a_broken_one(token: str) -> None:
    with pytest.raises(SealBroken):
        open_sealed(token)


def test_the_key_itself_is_no_key_of_the_seal(settings) -> None:
    """Whoever learns a key made for this purpose learns nothing about sessions, and the other way round."""
    import base64
    import hashlib

    from cryptography.fernet import Fernet, InvalidToken

    naive = base64.urlsafe_b64encode(hashlib.sha256(settings.SECRET_KEY.encode()).digest())
    with pytest.raises(InvalidToken):
        Fernet(naive).decrypt(seal(SECRET).encode())
