"""The production site's two files, checked as far as they can be without a container engine."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).resolve().parent.parent
OURS = {"web", "worker", "beat", "migrations"}
# The user ids 70 and 999 are the official images' own; by name they hold in every version of them.
NOT_ROOT = {"database": "postgres", "redis": "redis"}


@pytest.fixture(scope="module")
def compose() -> dict:
    return yaml.safe_load((ROOT / "docker-compose.yml").read_text())


@pytest.fixture(scope="module")
def services(compose) -> dict:
    return compose["services"]


@pytest.fixture(scope="module")
def dockerfile() -> list[tuple[str, str]]:
    """The file's instructions, as (word, rest), continued lines joined."""
    text = re.sub(r"\\\n\s*", "", (ROOT / "Dockerfile").read_text())
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    return [tuple(line.split(None, 1)) for line in lines]


def test_every_process_of_a_site_is_there(services):
    assert set(services) == OURS | set(NOT_ROOT)


@pytest.mark.parametrize("name", sorted(OURS | set(NOT_ROOT)))
def test_services_are_locked_down(services, dockerfile, name):
    service = services[name]
    user = service.get("user") or (dict(dockerfile)["USER"] if name in OURS else "root")
    assert user not in {"root", "0"}
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert "privileged" not in service
    assert service["mem_limit"]
    assert service["cpus"]


@pytest.mark.parametrize("name", sorted((OURS | set(NOT_ROOT)) - {"migrations"}))
def test_services_that_stay_are_watched_and_started_again(services, name):
    assert services[name]["restart"] == "unless-stopped"
    check = services[name]["healthcheck"]
    assert check["test"][0] in {"CMD", "CMD-SHELL"}
    assert {"interval", "timeout", "retries"} <= set(check)


def test_only_the_web_is_reached_from_outside_and_only_by_this_machine(services):
    assert {name for name, service in services.items() if "ports" in service} == {"web"}
    assert services["web"]["ports"] == ["127.0.0.1:${PORT:-8000}:8000"]


@pytest.mark.parametrize("name", ["web", "worker", "beat"])
def test_processes_start_after_the_migrations(services, name):
    wait = services[name]["depends_on"]
    assert wait["migrations"] == {"condition": "service_completed_successfully"}
    assert wait["database"] == wait["redis"] == {"condition": "service_healthy"}


def test_what_must_last_lies_in_named_volumes(compose, services):
    assert set(compose["volumes"]) == {"database", "files"}
    assert services["database"]["volumes"] == ["database:/var/lib/postgresql/data"]
    assert all(services[name]["volumes"] == ["files:/files"] for name in OURS)


def test_no_secret_is_written_down_or_has_a_default(services):
    for name in OURS:
        environment = services[name]["environment"]
        assert environment["SECRET_KEY"].startswith("${SECRET_KEY:?")
        assert "${POSTGRES_PASSWORD:?" in environment["DATABASE_URL"]
    assert services["database"]["environment"]["POSTGRES_PASSWORD"].startswith("${POSTGRES_PASSWORD:?")


def test_images_name_their_version(services, dockerfile):
    images = [dict(dockerfile)["FROM"], *(services[name]["image"] for name in NOT_ROOT)]
    assert all(re.fullmatch(r"[a-z]+:\d[\w.-]*", image) for image in images)


def test_the_client_reads_the_file():
    """With Debian's or a newer client, where the machine has one; it needs no engine for that."""
    clients = (["docker-compose"], ["docker", "compose"])
    found = [
        client
        for client in clients
        if shutil.which(client[0]) and not subprocess.run([*client, "version"], capture_output=True).returncode
    ]
    if not found:
        pytest.skip("no docker compose client on this machine (apt install docker-compose)")
    needed = ("SECRET_KEY", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "POSTGRES_PASSWORD")
    environment = os.environ | dict.fromkeys(needed, "x")
    command = [*found[0], "--file", str(ROOT / "docker-compose.yml"), "config", "--quiet"]
    run = subprocess.run(command, env=environment, capture_output=True, text=True)
    assert (run.returncode, run.stderr) == (0, "")
    del environment["SECRET_KEY"]
    run = subprocess.run(command, env=environment, capture_output=True, text=True)
    assert run.returncode != 0
    assert "put SECRET_KEY into .env" in run.stderr


def copied(dockerfile) -> list[str]:
    return [rest.split()[0] for word, rest in dockerfile if word == "COPY"]


def test_the_image_gets_only_what_it_copies(dockerfile):
    kept = {line[1:] for line in (ROOT / ".dockerignore").read_text().splitlines() if line.startswith("!")}
    assert kept == set(copied(dockerfile))


def test_what_the_image_copies_is_enough_to_start(dockerfile, tmp_path):
    """Do in a folder what the Dockerfile does in an image, then import what its command serves."""
    for name in copied(dockerfile):
        source = ROOT / name
        copy = shutil.copytree if source.is_dir() else shutil.copy
        copy(source, tmp_path / name)
    environment = {
        "PATH": os.environ["PATH"],
        "SECRET_KEY": "x" * 50,
        "DATA_DIR": str(tmp_path / "files"),
        "STATIC_ROOT": str(tmp_path / "staticfiles"),
    }
    collect = shlex.split(f"{sys.executable} manage.py collectstatic --noinput --verbosity 0")
    subprocess.run(collect, cwd=tmp_path, env=environment, check=True)
    assert (tmp_path / "staticfiles" / "staticfiles.json").exists()
    served = json.loads(dict(dockerfile)["CMD"])[-1].replace(":", " import ")
    subprocess.run([sys.executable, "-c", f"from {served}"], cwd=tmp_path, env=environment, check=True)
