"""docker-compose.yml is a Compose file, and runs what the supervisor runs.

Checked against the Compose Specification's own JSON schema (compose-spec.json beside this file).
"""

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema.protocols import Validator
from jsonschema.validators import validator_for

from config.local.commands import Commands
from config.local.folders import PROJECT
from config.local.valkey import Valkey

SCHEMA = Path(__file__).with_name("compose-spec.json")
COMMANDS = Commands(bind="0.0.0.0:8000", beat_schedule="/srv/beat/schedule")


@pytest.fixture
def compose() -> dict[str, Any]:
    with (PROJECT / "docker-compose.yml").open() as file:
        content: dict[str, Any] = yaml.safe_load(file)
    return content


@pytest.fixture
def validator() -> Validator:
    schema = json.loads(SCHEMA.read_text())
    kind = validator_for(schema)
    kind.check_schema(schema)
    return kind(schema)


def test_the_file_fits_the_compose_specification(
    compose: dict[str, Any], validator: Validator
) -> None:
    assert [error.message for error in validator.iter_errors(compose)] == []


def test_the_schema_refuses_what_compose_does_not_know(
    compose: dict[str, Any], validator: Validator
) -> None:
    compose["services"]["web"]["comand"] = compose["services"]["web"].pop("command")
    assert not validator.is_valid(compose)


@pytest.mark.parametrize(
    ("service", "command"),
    [
        ("web", COMMANDS.web),
        ("worker", COMMANDS.worker),
        ("scheduler", COMMANDS.beat),
        ("relay", COMMANDS.relay),
        ("migrate", COMMANDS.migrate),
    ],
)
def test_a_service_runs_the_supervisors_command(
    compose: dict[str, Any], service: str, command: list[str]
) -> None:
    assert compose["services"][service]["command"] == command


def test_every_service_is_there_and_nothing_else(compose: dict[str, Any]) -> None:
    assert sorted(compose["services"]) == [
        *("migrate", "postgresql", "relay", "scheduler", "valkey", "web", "worker")
    ]


def test_the_broker_keeps_the_same_promises_as_the_supervisors(
    compose: dict[str, Any], tmp_path: Path
) -> None:
    words = compose["services"]["valkey"]["command"][1:]
    theirs = dict(zip(words[::2], words[1::2], strict=True))
    ours = Valkey(data=tmp_path, sockets=tmp_path, log=tmp_path / "log").settings
    assert theirs == {f"--{key}": ours[key] for key in ("appendonly", "save", "maxmemory-policy")}


def test_nothing_but_the_web_server_is_reachable_from_outside(compose: dict[str, Any]) -> None:
    open_ports = {
        name: service["ports"]
        for name, service in compose["services"].items()
        if "ports" in service
    }
    assert open_ports == {"web": ["127.0.0.1:8000:8000"]}


def test_no_secret_stands_in_the_file(compose: dict[str, Any]) -> None:
    for service in compose["services"].values():
        for key, value in service["environment"].items() if "environment" in service else ():
            if "SECRET" in key or "PASSWORD" in key:
                assert value.startswith("${"), f"{key} is written out"
