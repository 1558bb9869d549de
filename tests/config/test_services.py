"""The tests' own services are real, private, and can be killed."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from redis import Redis

from config.celery import app
from tests.background import Background
from tests.services import services


@pytest.mark.django_db
def test_the_database_is_the_wheels_postgresql_on_a_private_socket() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        assert cursor.fetchone()[0].startswith("18.")
        cursor.execute("SHOW listen_addresses")
        assert cursor.fetchone()[0] == ""
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        assert cursor.fetchone()[0] is False
    assert services.postgres.sockets.stat().st_mode & 0o777 == 0o700


@pytest.mark.django_db
def test_the_models_have_no_change_without_a_migration() -> None:
    said = StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, stdout=said)
    except SystemExit:
        pytest.fail(said.getvalue())


@pytest.mark.django_db
def test_the_program_passes_its_frameworks_checks() -> None:
    call_command("check", fail_level="WARNING", databases=["default"])


def test_the_broker_keeps_what_it_is_given(broker: Redis) -> None:
    assert broker.config_get("maxmemory-policy") == {"maxmemory-policy": "noeviction"}
    assert broker.config_get("appendonly") == {"appendonly": "yes"}
    assert broker.dbsize() == 0


def test_a_killed_worker_is_gone_and_another_takes_over(worker: Background) -> None:
    def answers() -> int:
        return len(app.control.ping(timeout=1.0))

    worker.wait_until(answers)
    worker.kill("worker")
    assert answers() == 0
    worker.start("worker")
    worker.wait_until(answers)
