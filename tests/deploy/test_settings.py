"""Secrets come from the environment and from nowhere else."""

import ast
import re
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
SECRET = re.compile(r"(SECRET|SECRET_KEY|PASSWORD|TOKEN|_KEY|EMAIL_URL)$")
EXAMPLE = (ROOT / "deploy/environment.example").read_text(encoding="utf-8")
ASSIGNED = dict(re.findall(r"^([A-Z_]+)=(.*)$", EXAMPLE, re.MULTILINE))


def read_from_the_environment():
    """Yield each name that the settings read, with what stands for it where it is not set."""
    source = (ROOT / "deploy/settings.py").read_text(encoding="utf-8")
    for call in ast.walk(ast.parse(source)):
        if isinstance(call, ast.Call) and ast.unparse(call.func).startswith("env."):
            default = next((word.value for word in call.keywords if word.arg == "default"), None)
            if call.args and isinstance(call.args[0], ast.Constant):
                yield call.args[0].value, ast.unparse(default) if default else None


NAMES = dict(read_from_the_environment())


def test_no_secret_has_a_default():
    secrets = {name: default for name, default in NAMES.items() if SECRET.search(name)}
    assert {"SECRET_KEY", "EMAIL_URL", "METRICS_TOKEN"} <= secrets.keys()
    assert set(secrets.values()) == {"''"}


def test_no_default_address_has_a_password_in_it():
    addresses = [default for name, default in NAMES.items() if name.endswith("_URL")]
    assert addresses and not [address for address in addresses if "@" in address]


def test_no_setting_is_a_secret_written_down():
    source = (ROOT / "deploy/settings.py").read_text(encoding="utf-8")
    for statement in ast.parse(source).body:
        if isinstance(statement, ast.Assign) and isinstance(statement.value, ast.Constant):
            names = [ast.unparse(target) for target in statement.targets]
            assert not [name for name in names if SECRET.search(name)]


def test_the_example_for_servers_sets_what_there_is_and_no_secret():
    assert set(ASSIGNED) - {"POSTGRES_PASSWORD"} <= set(NAMES)
    assert {value for name, value in ASSIGNED.items() if SECRET.search(name)} == {""}


@pytest.mark.parametrize("name", ["compose.yaml", "Containerfile"])
def test_no_file_of_the_deployment_holds_a_secret(name):
    text = (ROOT / "deploy" / name).read_text(encoding="utf-8")
    given = re.findall(r"(?:PASSWORD|SECRET_KEY|TOKEN)(?:: +|=)(?!\$\{)\S+", text)
    assert given == []
