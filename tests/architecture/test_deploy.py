"""What Django's own check of a deployment says, and what a reader behind TLS is really sent."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from http.cookies import SimpleCookie
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.urls import reverse

from farm import settings as project

ROOT = Path(__file__).resolve().parents[2]
OVER_TLS = {"FEATHERDAYS_TLS": "1", "FEATHERDAYS_ADDRESS": "https://birds.example"}
#: As the settings have them with FEATHERDAYS_TLS=1; test_tls_switches_on_what_this_file_tries holds the two together.
TLS = {
    "TLS": True,
    "SESSION_COOKIE_SECURE": True,
    "CSRF_COOKIE_SECURE": True,
    "SECURE_HSTS_SECONDS": 31536000,
    "SECURE_SSL_REDIRECT": True,
}
PASSWORD = "correct horse battery"


def run(data: Path, *arguments: str, **variables: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    env = kept | {"FEATHERDAYS_DATA": str(data)} | variables
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)


def check_deploy(data: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    return run(data, "manage.py", "check", "--deploy", "--fail-level", "WARNING", **variables)


def test_behind_tls_the_check_of_a_deployment_has_nothing_to_say(tmp_path):
    done = check_deploy(tmp_path, **OVER_TLS)
    assert (done.returncode, "no issues" in done.stdout) == (0, True), done.stderr


def test_a_household_without_tls_is_told_what_that_means(tmp_path):
    done = check_deploy(tmp_path)
    found = set(re.findall(r"security\.W\d+", done.stderr))
    # No HSTS, no redirect to https, cookies that travel in the clear: true, and said.
    assert found == {"security.W004", "security.W008", "security.W012", "security.W016"}


def test_every_silenced_check_is_one_of_three_that_have_their_reason():
    assert project.SILENCED_SYSTEM_CHECKS == ["auth.E003", "security.W005", "security.W021"]
    lines = (ROOT / "farm/settings/__init__.py").read_text(encoding="utf-8").splitlines()
    for name in project.SILENCED_SYSTEM_CHECKS:
        (line,) = [one for one in lines if f'"{name}",' in one]
        assert "  # " in line


def test_tls_switches_on_what_this_file_tries(tmp_path):
    ask = f"from farm import settings; print({{name: getattr(settings, name) for name in {sorted(TLS)}}} == {TLS!r})"
    done = run(tmp_path, "-c", ask, **OVER_TLS)
    assert done.stdout == "True\n", done.stderr


@pytest.fixture
def over_tls():
    with override_settings(**TLS):
        yield Client()


def cookies(client: Client) -> SimpleCookie:
    client.post(reverse("login"), {"username": "ada@example.org", "password": PASSWORD}, secure=True)
    client.get(reverse("settings"), secure=True)
    return client.cookies


def test_behind_tls_every_cookie_is_secure_hidden_from_scripts_and_not_sent_from_other_sites(world, over_tls):
    found = cookies(over_tls)
    assert set(found) == {"sessionid", "csrftoken", "known_browser"}
    for cookie in found.values():
        assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax"), cookie.key


def test_without_tls_the_same_cookies_reach_a_browser_that_has_none(world):
    client = Client()
    client.post(reverse("login"), {"username": "ada@example.org", "password": PASSWORD})
    for cookie in client.cookies.values():
        assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == ("", True, "Lax"), cookie.key


def test_behind_tls_a_page_asked_for_without_it_is_led_to_it(db, over_tls):
    reply = over_tls.get(reverse("login"))
    assert (reply.status_code, reply.url) == (301, "https://testserver/login/")


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
def test_whoever_watches_the_process_needs_no_tls(db, over_tls, path):
    assert over_tls.get(path).status_code in (200, 503)


def test_behind_tls_browsers_stay_with_it_for_this_name_alone(db, over_tls):
    assert over_tls.get(reverse("login"), secure=True)["Strict-Transport-Security"] == "max-age=31536000"


def test_without_tls_nothing_binds_a_browser_to_it(db):
    reply = Client().get(reverse("login"))
    assert "Strict-Transport-Security" not in reply
    assert reply.status_code == 200


@pytest.mark.parametrize(
    "header, value",
    [
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Referrer-Policy", "same-origin"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
    ],
)
def test_every_page_carries_the_guards_of_the_browser(db, header, value):
    for path in ("/login/", "/help/", "/no-such-page/"):
        assert Client().get(path)[header] == value


def test_the_policy_lets_in_nothing_from_elsewhere_and_nothing_inline(db):
    policy = Client().get("/login/")["Content-Security-Policy"]
    rules = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert rules == {
        "default-src": "'self'",
        "object-src": "'none'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
        "form-action": "'self'",
        "report-uri": "/csp-reports/",
    }


def test_the_policy_of_the_pages_is_the_only_one():
    """Whoever loosens it for one page does so here, with a reason."""
    loose = re.compile(r"csp_(?:exempt|update|replace)|CONTENT_SECURITY_POLICY|unsafe-(?:inline|eval)")
    found = {
        path.relative_to(ROOT).as_posix()
        for top in ("farm", "calendars", "tasks", "api")
        for path in (ROOT / top).rglob("*.py")
        if loose.search(path.read_text(encoding="utf-8"))
    }
    assert found <= LOOSER.keys() | {"farm/settings/__init__.py"}


#: Files that name another policy, and why.
LOOSER = {
    "api/site.py": "one page of the API: its style sheet holds its own small pictures; scripts stay as they are"
}


def test_no_policy_anywhere_lets_in_what_is_written_into_a_page():
    loose = re.compile(r"unsafe-|UNSAFE_|strict-dynamic|csp_exempt")
    for top in ("farm", "calendars", "tasks", "api"):
        for path in (ROOT / top).rglob("*.py"):
            assert loose.search(path.read_text(encoding="utf-8")) is None, path


def test_the_test_settings_have_not_loosened_anything():
    assert settings.CONTENT_SECURITY_POLICY == project.CONTENT_SECURITY_POLICY
    assert settings.MIDDLEWARE == project.MIDDLEWARE


def test_every_proof_that_the_threat_model_names_is_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("\n## Threat model\n")[1].split("\n## ")[0]
    named = set(re.findall(r"`(test_\w+)`", section))
    assert len(named) > 15
    assert named <= {path.stem for path in (ROOT / "tests").rglob("test_*.py")}
