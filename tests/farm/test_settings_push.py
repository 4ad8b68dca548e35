"""The key for messages to browsers: made once and kept private, or given, and never a number that is no key."""

from __future__ import annotations

import stat
from base64 import urlsafe_b64encode
from concurrent.futures import ThreadPoolExecutor

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, derive_private_key

from farm.settings.data import P256_ORDER, given_push_key, is_push_key, new_push_key, push_key
from farm.settings.env import SettingError
from tests.farm.test_settings_whole import manage, settings


def written(number: int) -> str:
    return urlsafe_b64encode(number.to_bytes(32, "big")).decode().rstrip("=")


def test_the_key_is_made_once_and_kept_private(tmp_path) -> None:
    first = push_key(tmp_path)
    assert push_key(tmp_path) == first
    assert stat.S_IMODE((tmp_path / "push_key").stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir()] == ["push_key"]


def test_processes_that_start_at_once_agree_on_one_key(tmp_path) -> None:
    with ThreadPoolExecutor(16) as pool:
        assert len(set(pool.map(lambda _: push_key(tmp_path), range(64)))) == 1


def test_every_key_made_is_one_and_no_two_are_alike() -> None:
    keys = {new_push_key() for _ in range(200)}
    assert len(keys) == 200
    assert all(map(is_push_key, keys))


def test_the_curve_has_as_many_points_as_we_say() -> None:
    """The library refuses the order itself and takes the number below it."""
    derive_private_key(P256_ORDER - 1, SECP256R1())
    with pytest.raises(ValueError):
        derive_private_key(P256_ORDER, SECP256R1())


@pytest.mark.parametrize("number, fits", [(0, False), (1, True), (P256_ORDER - 1, True), (P256_ORDER, False)])
def test_only_numbers_below_the_order_are_keys(number: int, fits: bool) -> None:
    assert is_push_key(written(number)) is fits


@pytest.mark.parametrize("text", ["hush", "x" * 42, "x" * 44, written(5) + "=", "+" * 43, "ü" * 43, " " * 43])
def test_what_is_no_key_stops_the_start_without_being_shown(text: str) -> None:
    with pytest.raises(SettingError) as refused:
        given_push_key(text)
    assert str(refused.value).startswith("FEATHERDAYS_PUSH_KEY is no key")
    assert text.strip() == "" or text not in str(refused.value)


def test_a_damaged_key_is_refused_instead_of_used(tmp_path) -> None:
    (tmp_path / "push_key").write_bytes(b"\xff\n")
    with pytest.raises(SettingError, match="holds a damaged key"):
        push_key(tmp_path)


def test_a_given_key_is_used_and_none_is_written(tmp_path) -> None:
    assert settings(tmp_path, "PUSH_KEY", FEATHERDAYS_PUSH_KEY=written(77)) == {"PUSH_KEY": written(77)}
    assert not (tmp_path / "push_key").exists()


def test_a_wrong_key_is_one_line_and_no_traceback(tmp_path) -> None:
    done = manage(tmp_path, "check", FEATHERDAYS_PUSH_KEY="hush")
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "hush" not in done.stderr


def test_the_households_own_network_is_out_of_reach_unless_somebody_says_so(tmp_path) -> None:
    assert settings(tmp_path, "PRIVATE_PUSH") == {"PRIVATE_PUSH": False}
    assert settings(tmp_path, "PRIVATE_PUSH", FEATHERDAYS_PRIVATE_PUSH="1") == {"PRIVATE_PUSH": True}


def test_the_key_before_is_told_to_django(tmp_path) -> None:
    assert settings(tmp_path, "SECRET_KEY_FALLBACKS") == {"SECRET_KEY_FALLBACKS": []}
    given = {"FEATHERDAYS_SECRET_KEY_BEFORE": "b" * 50}
    assert settings(tmp_path, "SECRET_KEY_FALLBACKS", **given) == {"SECRET_KEY_FALLBACKS": ["b" * 50]}
