"""The settings as a whole, each time in a process of its own: what the environment says is what holds."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ASK = """
import json, sys
from farm import settings
print(json.dumps({name: getattr(settings, name, None) for name in sys.argv[1:]}, default=str))
"""


def run(data, variables, *arguments):
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    env = kept | {"FEATHERDAYS_DATA": str(data)} | variables
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)


def settings(data, *names, **variables):
    done = run(data, variables, "-c", ASK, *names)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def manage(data, *arguments, **variables):
    return run(data, variables, "manage.py", *arguments)


def test_with_nothing_set_it_is_closed_to_the_network_and_shows_no_debug_pages(tmp_path):
    found = settings(tmp_path, "DEBUG", "BIND", "ADDRESS", "ALLOWED_HOSTS", "SESSION_COOKIE_SECURE", "PROXY")
    assert found == {
        "DEBUG": False,
        "BIND": "127.0.0.1",
        "ADDRESS": "http://localhost:8000",
        "ALLOWED_HOSTS": ["localhost", "127.0.0.1", "[::1]", "localhost"],
        "SESSION_COOKIE_SECURE": False,
        "PROXY": "",
    }


def test_tls_brings_secure_cookies_hsts_and_the_trusted_origin(tmp_path):
    expected = {
        "SESSION_COOKIE_SECURE": True,
        "CSRF_COOKIE_SECURE": True,
        "SECURE_HSTS_SECONDS": 31536000,
        "CSRF_TRUSTED_ORIGINS": ["https://birds.example"],
        "PROXY": "127.0.0.1",
    }
    variables = {"FEATHERDAYS_TLS": "1", "FEATHERDAYS_ADDRESS": "https://birds.example/"}
    assert settings(tmp_path, *expected, **variables) == expected


def test_the_key_survives_a_restart(tmp_path):
    assert settings(tmp_path, "SECRET_KEY") == settings(tmp_path, "SECRET_KEY")


def test_a_given_key_is_used_and_none_is_written(tmp_path):
    assert settings(tmp_path, "SECRET_KEY", FEATHERDAYS_SECRET_KEY="k" * 50) == {"SECRET_KEY": "k" * 50}
    assert not (tmp_path / "secret_key").exists()


def test_a_wrong_setting_is_one_line_and_no_traceback(tmp_path):
    done = manage(tmp_path, "check", FEATHERDAYS_PORT="eight")
    assert (done.returncode, done.stdout) == (1, "")
    problem = "FEATHERDAYS_PORT is 'eight', not a whole number. Write a whole number from 1 to 65535."
    assert done.stderr == f"featherdays: {problem}\n"


def test_a_new_sqlite_file_is_in_wal_and_passes_the_database_checks(tmp_path):
    done = manage(tmp_path, "check", "--database", "default")
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "variables, code",
    [
        ({"FEATHERDAYS_DEBUG": "1", "FEATHERDAYS_BIND": "0.0.0.0"}, "farm.E001"),
        ({"FEATHERDAYS_ADDRESS": "https://birds.example"}, "farm.W002"),
        ({"FEATHERDAYS_TLS": "1"}, "farm.W002"),
    ],
)
def test_settings_that_contradict_each_other_are_found_by_the_checks(tmp_path, variables, code):
    assert code in manage(tmp_path, "check", **variables).stderr


def test_a_data_folder_open_to_others_is_found_by_the_checks(tmp_path):
    (tmp_path / "open").mkdir()
    (tmp_path / "open").chmod(0o755)
    done = manage(tmp_path / "open", "check")
    assert "farm.W001" in done.stderr
    assert f"chmod 700 {tmp_path}/open" in done.stderr
