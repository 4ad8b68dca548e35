"""A wrong variable stops the start and says the fix; a right one is read exactly."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.settings import env
from farm.settings.env import SettingError

NAME = "FEATHERDAYS_TRIAL"


@pytest.fixture(autouse=True)
def unset(monkeypatch):
    monkeypatch.delenv(NAME, raising=False)
    monkeypatch.delenv(f"{NAME}_FILE", raising=False)


def give(monkeypatch, value):
    monkeypatch.setenv(NAME, value)


@pytest.mark.parametrize("value", ["", "   "])
def test_an_empty_variable_counts_as_unset(monkeypatch, value):
    give(monkeypatch, value)
    assert (env.text(NAME, "x"), env.flag(NAME, True), env.number(NAME, 7, 1, 9)) == ("x", True, 7)
    assert (env.listing(NAME), env.secret(NAME, "y")) == ([], "y")


def test_text_loses_the_blanks_around_it(monkeypatch):
    give(monkeypatch, "  two words ")
    assert env.text(NAME) == "two words"


@pytest.mark.parametrize(
    "word, meaning", [("1", True), ("Yes", True), ("ON", True), ("0", False), ("no", False), ("False", False)]
)
def test_a_flag_takes_yes_and_no_in_any_case(monkeypatch, word, meaning):
    give(monkeypatch, word)
    assert env.flag(NAME, not meaning) is meaning


def test_a_misspelt_flag_is_refused_with_its_name_and_the_fix(monkeypatch):
    give(monkeypatch, "ture")
    with pytest.raises(SettingError) as refused:
        env.flag(NAME)
    assert str(refused.value) == "FEATHERDAYS_TRIAL is 'ture', which is neither yes nor no. Write 1 or 0."


@given(st.integers(1, 65535))
def test_every_number_in_range_is_read_as_itself(value):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(NAME, str(value))
        assert env.number(NAME, 0, 1, 65535) == value


@pytest.mark.parametrize("value", ["0", "65536", "-1", "8000.0", "80_00", "١", "many", "0x50"])
def test_a_number_out_of_range_or_no_number_is_refused(monkeypatch, value):
    give(monkeypatch, value)
    with pytest.raises(SettingError, match=r" is .*Write a whole number from 1 to 65535\.$"):
        env.number(NAME, 8000, 1, 65535)


def test_a_listing_drops_blanks_and_empty_parts(monkeypatch):
    give(monkeypatch, " a.example, ,b.example,")
    assert env.listing(NAME) == ["a.example", "b.example"]


def test_a_choice_is_read_in_any_case_and_given_as_it_is_known(monkeypatch):
    give(monkeypatch, "info")
    assert env.choice(NAME, "WARNING", ("INFO", "WARNING")) == "INFO"


def test_an_unknown_choice_is_refused_with_the_known_ones(monkeypatch):
    give(monkeypatch, "loud")
    with pytest.raises(SettingError, match=r"is 'loud'\. Write one of: INFO, WARNING\."):
        env.choice(NAME, "WARNING", ("INFO", "WARNING"))


@pytest.mark.parametrize("address", ["https://birds.example", "http://10.0.0.7:8000", "http://[::1]:8000"])
def test_a_base_address_keeps_scheme_host_and_port_and_loses_a_closing_slash(monkeypatch, address):
    give(monkeypatch, address + "/")
    assert env.address(NAME, "") == address


@pytest.mark.parametrize(
    "address",
    [
        "birds.example",
        "ftp://a",
        "https://a/path",
        "https://u:p@a",
        "https://",
        "https://a:port",
        "https://a?q=1",
    ],
)
def test_what_is_no_base_address_is_refused(monkeypatch, address):
    give(monkeypatch, address)
    with pytest.raises(SettingError, match="Write scheme and host alone"):
        env.address(NAME, "")


def test_a_secret_is_the_first_line_of_the_file_its_variable_points_to(monkeypatch, tmp_path):
    (tmp_path / "key").write_text("hush\nsecond line\n")
    monkeypatch.setenv(f"{NAME}_FILE", str(tmp_path / "key"))
    assert env.secret(NAME) == "hush"


def test_a_secret_given_twice_is_refused_instead_of_guessed(monkeypatch, tmp_path):
    give(monkeypatch, "a")
    monkeypatch.setenv(f"{NAME}_FILE", str(tmp_path))
    with pytest.raises(SettingError, match=f"{NAME} and {NAME}_FILE are both set. Keep one"):
        env.secret(NAME)


@pytest.mark.parametrize(
    "content, reason", [(None, "unreadable"), (b"", "empty"), (b"\n", "empty"), (b"\xff", "not text")]
)
def test_a_secret_file_that_is_absent_empty_or_not_text_is_refused_by_name(
    monkeypatch, tmp_path, content, reason
):
    path = tmp_path / "key"
    if content is not None:
        path.write_bytes(content)
    monkeypatch.setenv(f"{NAME}_FILE", str(path))
    with pytest.raises(SettingError, match=rf"^{NAME}_FILE points to {path}, .*{reason}"):
        env.secret(NAME)
