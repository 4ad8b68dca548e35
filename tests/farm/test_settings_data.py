"""The data folder and the key in it: private, made once, and a clear word when they can't be."""

import stat
from concurrent.futures import ThreadPoolExecutor

import pytest

from farm.settings.data import data_folder, secret_key
from farm.settings.env import SettingError


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_the_data_folder_is_made_for_its_owner_alone(tmp_path):
    made = data_folder(tmp_path / "deep" / "data")
    assert (made.is_dir(), mode(made)) == (True, 0o700)


def test_a_data_folder_that_can_not_be_made_names_the_variable_and_the_path(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(SettingError) as refused:
        data_folder(tmp_path / "file" / "data")
    assert str(refused.value) == (
        f"FEATHERDAYS_DATA is {tmp_path}/file/data, which can't be made (Not a directory). "
        "Name a folder this user may write to."
    )


def test_the_key_is_made_once_and_kept_private(tmp_path):
    first = secret_key(tmp_path)
    assert (len(first) >= 64, secret_key(tmp_path) == first) == (True, True)
    assert mode(tmp_path / "secret_key") == 0o600
    assert [path.name for path in tmp_path.iterdir()] == ["secret_key"]


def test_two_folders_get_two_keys(tmp_path):
    assert secret_key(data_folder(tmp_path / "a")) != secret_key(data_folder(tmp_path / "b"))


def test_processes_that_start_at_once_agree_on_one_key(tmp_path):
    with ThreadPoolExecutor(16) as pool:
        keys = set(pool.map(lambda _: secret_key(tmp_path), range(64)))
    assert len(keys) == 1


def test_a_damaged_key_is_refused_instead_of_used(tmp_path):
    (tmp_path / "secret_key").write_text("short\n")
    with pytest.raises(SettingError, match="holds a damaged key"):
        secret_key(tmp_path)
