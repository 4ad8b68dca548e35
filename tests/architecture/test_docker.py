"""The container files against the project they package. No container engine is needed, and none is proved by this."""

import http.server
import json
import os
import re
import shutil
import subprocess
import sys
import threading
import tomllib
from pathlib import Path

import pytest
import yaml

from farm.management.commands.start import processes
from tests.farm.test_settings_documented import documented

ROOT = Path(__file__).resolve().parents[2]
DOCKER = ROOT / "docker"
FILES = ("household.yaml", "coop.yaml")
#: What is ours in coop.yaml; the others are published images.
OURS = {"featherdays", "migrate", "web", "worker", "beat"}
#: Variables of the published images.
THEIRS = {"POSTGRES_USER", "POSTGRES_DB", "POSTGRES_PASSWORD_FILE"}
#: Whoever runs it brings these: docker/make-secrets can't.
BROUGHT = {"tls_certificate", "tls_key"}
NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")


def compose(name):
    return yaml.safe_load((DOCKER / name).read_text(encoding="utf-8"))


def services(name):
    return compose(name)["services"].items()


def stages():
    text = (DOCKER / "Dockerfile").read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    begins = [number for number, line in enumerate(lines) if line.startswith("FROM ")]
    return [lines[a:b] for a, b in zip(begins, [*begins[1:], len(lines)], strict=True)]


def copied():
    """What the last stage takes from the tree, as paths below the root."""
    words = [line.split()[1:] for line in stages()[-1] if line.startswith("COPY ") and "--from" not in line]
    return [source for *sources, _into in words for source in sources]


def test_the_compose_files_are_what_compose_reads():
    files = [str(DOCKER / name) for name in FILES]
    command = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.compose-spec", *files]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.strip()) == (0, "ok -- validation done")


@pytest.mark.parametrize("name", FILES)
def test_every_variable_in_them_is_a_setting(name):
    given = {key for _name, service in services(name) for key in service.get("environment", {})}
    known = set(documented()) | THEIRS
    secret = {f"{each}_FILE" for each in re.findall(r"^\| `(\w+)` \|.*\*secret\*", developers(), re.M)}
    assert given - known - secret == set()
    assert set(re.findall(r"\$\{(\w+)", (DOCKER / name).read_text())) <= set(documented())


def developers():
    return (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_every_service_is_confined(name):
    for service_name, service in services(name):
        confined = (service["read_only"], service["cap_drop"], service["security_opt"])
        assert confined == (True, ["ALL"], ["no-new-privileges:true"]), service_name
        assert "/tmp" in service["tmpfs"], service_name


def test_web_worker_and_beat_begin_only_when_the_database_is_migrated_and_redis_answers():
    found = dict(services("coop.yaml"))
    for name in ("web", "worker", "beat"):
        asked = {each: how["condition"] for each, how in found[name]["depends_on"].items()}
        assert asked == {"migrate": "service_completed_successfully", "redis": "service_healthy"}
    assert found["migrate"]["depends_on"] == {"database": {"condition": "service_healthy"}}
    assert found["proxy"]["depends_on"] == {"web": {"condition": "service_healthy"}}
    assert all("healthcheck" in found[name] for name in ("database", "redis", "proxy"))


def test_database_and_redis_reach_nobody_outside_and_publish_nothing():
    file = compose("coop.yaml")
    inside = {name for name, net in file["networks"].items() if net and net.get("internal")}
    for name in ("database", "redis"):
        assert set(file["services"][name]["networks"]) <= inside
    assert [name for name, service in file["services"].items() if "ports" in service] == ["proxy"]


@pytest.mark.parametrize("name", FILES)
def test_a_container_is_given_longer_to_stop_than_its_processes_take(name):
    for service in (each for own, each in services(name) if own in OURS - {"migrate"}):
        asked = int(service["environment"]["FEATHERDAYS_STOP_SECONDS"])
        assert int(service["stop_grace_period"].removesuffix("s")) > asked + 1


@pytest.mark.parametrize("name", FILES)
def test_every_command_is_one_the_entry_knows(name, tmp_path):
    for own, service in services(name):
        if own in OURS:
            (role,) = service["command"]
            assert entered(role, tmp_path) in ROLES.values(), own


ROLES = {
    "web": ["manage.py", "start", "--only", "web"],
    "worker": ["manage.py", "start", "--only", "worker"],
    "beat": ["manage.py", "start", "--only", "beat"],
    "all": ["manage.py", "start", "--empty"],
    "migrate": ["manage.py", "migrate", "--no-input"],
}


def entered(role, folder):
    fake = folder / "python"
    fake.write_text('#!/bin/sh\nprintf "%s\\n" "$@"\n')
    fake.chmod(0o755)
    done = subprocess.run(
        [DOCKER / "entry", *role.split()],
        env={"PATH": f"{folder}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split()


@pytest.mark.parametrize("role", ROLES)
def test_the_entry_runs_each_role(role, tmp_path):
    assert entered(role, tmp_path) == ROLES[role]


def test_the_entry_hands_any_other_word_to_the_commands(tmp_path):
    assert entered("check_farm --all", tmp_path) == ["manage.py", "check_farm", "--all"]


def test_the_single_roles_are_those_that_start_knows():
    assert set(processes()) == {"web", "worker", "beat"}


def test_the_image_is_made_in_two_stages_on_one_base_and_the_last_has_no_compiler_and_no_root():
    first, last = stages()
    assert {first[0].split()[1], last[0].split()[1]} == {"python:3.12-slim-bookworm"}
    text = "\n".join(last)
    assert not re.search(r"\b(gcc|g\+\+|build-essential|pip install|curl|wget)\b", text)
    assert [line for line in last if line.startswith("USER ")] == ["USER featherdays"]
    order = [line.split()[0] for line in last]
    assert order.index("USER") < order.index("ENTRYPOINT")
    assert ".[postgres]" in "\n".join(first)


def test_the_image_holds_every_package_of_the_project():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    packages = {
        each.removesuffix("*") for each in project["tool"]["setuptools"]["packages"]["find"]["include"]
    }
    assert packages <= set(copied())
    assert packages | {"manage.py"} <= kept_by_dockerignore()


def kept_by_dockerignore():
    lines = (ROOT / ".dockerignore").read_text(encoding="utf-8").splitlines()
    assert "*" in lines
    return {line.removeprefix("!") for line in lines if line.startswith("!")}


def test_what_is_copied_is_not_ignored():
    first = [line.split()[1:-1] for line in stages()[0] if line.startswith("COPY ")]
    assert {*copied(), *(name for names in first for name in names)} == kept_by_dockerignore()


def test_what_the_image_holds_is_enough_to_make_its_files_and_pass_its_checks(tmp_path):
    app, data = tmp_path / "app", tmp_path / "data"
    for source in copied():
        into = app / source
        into.parent.mkdir(parents=True, exist_ok=True)
        copy = shutil.copytree if (ROOT / source).is_dir() else shutil.copy
        copy(ROOT / source, into)
    env = {
        "PATH": os.environ["PATH"],
        "FEATHERDAYS_DATA": str(data),
        "FEATHERDAYS_STATIC": str(app / "static"),
    }
    for command in (["collectstatic", "--no-input", "--verbosity=0"], ["check"]):
        runner = [sys.executable, "-c", ALONE, str(app), str(ROOT), *command]
        done = subprocess.run(runner, cwd=app, env=env, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    assert (app / "static" / "staticfiles.json").exists()
    assert not (data / "static").exists()


# The editable install would lend what the image lacks: its finder and the tree itself are left out.
ALONE = """
import os, sys
app, tree, *arguments = sys.argv[1:]
sys.meta_path = [each for each in sys.meta_path if "editable" not in str(each).lower()]
sys.path = [app] + [each for each in sys.path if each not in ("", tree)]
os.environ["DJANGO_SETTINGS_MODULE"] = "farm.settings"
import farm
assert farm.__file__.startswith(app), farm.__file__
from django.core.management import execute_from_command_line
execute_from_command_line(["manage.py", *arguments])
"""


ASK = """
import json
from farm import settings as s
print(json.dumps([s.DATABASES["default"]["PASSWORD"], s.SECRET_KEY, s.PUSH_KEY, s.CELERY_BROKER_URL]))
"""


def test_the_secrets_are_made_once_and_the_settings_take_them(tmp_path):
    folder = tmp_path / "secrets"
    for _twice in range(2):
        subprocess.run([DOCKER / "make-secrets", folder], capture_output=True, check=True)
    made = {path.name: path.read_text() for path in folder.iterdir()}
    assert set(made) == set(compose("coop.yaml")["secrets"]) - BROUGHT
    assert folder.stat().st_mode & 0o777 == 0o700
    env = {"PATH": os.environ["PATH"], "FEATHERDAYS_DATA": str(tmp_path / "data")}
    given = dict(services("coop.yaml"))["web"]["environment"]
    env |= {name: f"{folder}/{Path(path).name}" for name, path in given.items() if name.endswith("_FILE")}
    done = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, env=env, capture_output=True, text=True, check=True
    )
    names = ("database_password", "secret_key", "push_key", "redis_url")
    assert json.loads(done.stdout) == [made[name].strip() for name in names]
    assert made["redis_password"].strip() in made["redis_url"]


def test_every_secret_a_service_names_is_declared_and_read_from_where_it_is_put():
    file = compose("coop.yaml")
    for name, service in file["services"].items():
        named = set(service.get("secrets", []))
        assert named <= set(file["secrets"]), name
        read = set(re.findall(r"/run/secrets/(\w+)", json.dumps(service)))
        assert read <= named, name
    assert set(re.findall(r"/run/secrets/(\w+)", (DOCKER / "nginx.conf").read_text())) == set(
        file["services"]["proxy"]["secrets"]
    )


@pytest.mark.skipif(NGINX is None, reason="nginx is not installed")
def test_nginx_takes_its_configuration(tmp_path):
    shutil.copy(DOCKER / "proxy.conf", tmp_path)
    make = "openssl req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=birds.example -keyout tls_key"
    subprocess.run([*make.split(), "-out", "tls_certificate"], cwd=tmp_path, capture_output=True, check=True)
    text = (DOCKER / "nginx.conf").read_text().replace("/run/secrets", str(tmp_path))
    (tmp_path / "nginx.conf").write_text(text.replace("/run/nginx.pid", str(tmp_path / "pid")))
    command = [NGINX, "-t", "-q", "-e", "stderr", "-c", tmp_path / "nginx.conf", "-p", tmp_path]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_backup_programs_of_the_image_are_of_the_servers_version():
    # bookworm's postgresql-client is 15; pg_dump refuses a newer server.
    assert dict(services("coop.yaml"))["database"]["image"] == "postgres:15-bookworm"


@pytest.mark.parametrize("status, code", [(200, 0), (503, 1)])
def test_the_health_check_tells_what_the_pages_answer(status, code):
    class Pages(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(status if self.path == "/healthz" else 404)
            self.end_headers()

        def log_message(self, *_args):
            pass

    with http.server.HTTPServer(("127.0.0.1", 0), Pages) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        assert health_check(server.server_port) == code
        server.shutdown()
    assert health_check(server.server_port) == 1


def health_check(port):
    env = {"PATH": os.environ["PATH"], "FEATHERDAYS_PORT": str(port)}
    return subprocess.run([sys.executable, DOCKER / "healthy.py"], env=env, check=False).returncode
