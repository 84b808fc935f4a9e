"""The settings as a lab starts them: read in a process of their own, with an environment of their own."""

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PRODUCTION = {"LABSTOCK_PUBLIC_URL": "https://stock.example.org", "LABSTOCK_BEHIND_PROXY": "1"}
READ = """
import json, sys
from labstock import settings
print(json.dumps({name: getattr(settings, name, None) for name in sys.argv[1:]}, default=str))
"""


def start(folder: Path, *command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, "-W", "error", *command],
        cwd=ROOT,
        env={**kept, "LABSTOCK_DATA": str(folder), "PYTHONDONTWRITEBYTECODE": "1", **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def settings(folder: Path, *names: str, **environment: str) -> dict[str, object]:
    done = start(folder, "-c", READ, *names, **environment)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_debug_is_off_unless_asked_for(tmp_path):
    assert settings(tmp_path, "DEBUG") == {"DEBUG": False}
    assert settings(tmp_path, "DEBUG", LABSTOCK_DEBUG="1") == {"DEBUG": True}


def test_behind_https_every_cookie_is_secure_and_browsers_are_told_to_stay(tmp_path):
    assert settings(
        tmp_path,
        "SESSION_COOKIE_SECURE",
        "CSRF_COOKIE_SECURE",
        "SECURE_SSL_REDIRECT",
        "SECURE_HSTS_SECONDS",
        "SECURE_PROXY_SSL_HEADER",
        "CSRF_TRUSTED_ORIGINS",
        **PRODUCTION,
    ) == {
        "SESSION_COOKIE_SECURE": True,
        "CSRF_COOKIE_SECURE": True,
        "SECURE_SSL_REDIRECT": True,
        "SECURE_HSTS_SECONDS": 31_536_000,
        "SECURE_PROXY_SSL_HEADER": ["HTTP_X_FORWARDED_PROTO", "https"],
        "CSRF_TRUSTED_ORIGINS": ["https://stock.example.org"],
    }


def test_without_a_proxy_nobody_may_claim_to_come_by_https(tmp_path):
    assert settings(tmp_path, "SECURE_PROXY_SSL_HEADER") == {"SECURE_PROXY_SSL_HEADER": None}


def test_the_site_answers_to_its_public_name_and_to_this_machine_only(tmp_path):
    hosts = settings(tmp_path, "ALLOWED_HOSTS", **PRODUCTION)["ALLOWED_HOSTS"]
    assert hosts == ["127.0.0.1", "localhost", "[::1]", "stock.example.org"]


def test_the_deployment_check_finds_nothing_in_production(tmp_path):
    done = start(tmp_path, "manage.py", "check", "--deploy", "--fail-level", "DEBUG", **PRODUCTION)
    assert done.returncode == 0, done.stderr
    assert "System check identified no issues (0 silenced)." in done.stdout


def test_the_deployment_check_does_find_plain_http(tmp_path):
    done = start(tmp_path, "manage.py", "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode == 1
    assert "security.W012" in done.stderr  # SESSION_COOKIE_SECURE is not set


def test_the_first_start_makes_a_secret_that_only_the_owner_can_read(tmp_path):
    first = settings(tmp_path, "SECRET_KEY")
    key = tmp_path / "secret.key"
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert len(key.read_text()) >= 50
    assert settings(tmp_path, "SECRET_KEY") == first
    assert [file.name for file in tmp_path.glob("secret*")] == ["secret.key"]


def test_processes_that_start_together_share_one_secret(tmp_path):
    command = [sys.executable, "-c", READ, "SECRET_KEY"]
    environment = {**os.environ, "LABSTOCK_DATA": str(tmp_path)}
    started = [
        subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
        for _ in range(4)
    ]
    said = {process.communicate()[0] for process in started}
    assert len(said) == 1
    assert len(json.loads(said.pop())["SECRET_KEY"]) >= 50


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("LABSTOCK_DEBUG", "perhaps"),
        ("LABSTOCK_BEHIND_PROXY", "2"),
        ("LABSTOCK_PUBLIC_URL", "stock.example.org"),
        ("LABSTOCK_HOSTS", "https://stock.example.org"),
        ("LABSTOCK_CODE_PREFIX", "T1"),
        ("LABSTOCK_TIME_ZONE", "Oslo/Europe"),
        ("LABSTOCK_SECRET_KEY", "short"),
        ("DATABASE_URL", "oracle://db/x"),
        ("LABSTOCK_DATA", "/dev/null/var"),
    ],
)
def test_every_variable_that_is_wrong_stops_the_start_by_name(tmp_path, name, value):
    done = start(tmp_path, "manage.py", "check", **{name: value})
    assert done.returncode == 1
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("labstock.environment.BadEnvironment: ")
    assert f"{name}=" in last
