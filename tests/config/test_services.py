"""The test's own services are real, private and gone afterwards."""

import pytest
from django.db import connection


@pytest.mark.django_db
def test_the_database_is_the_wheels_postgresql_on_a_private_socket() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        assert cursor.fetchone()[0].startswith("18.")
        cursor.execute("SHOW listen_addresses")
        assert cursor.fetchone()[0] == ""
        cursor.execute("SHOW unix_socket_permissions")
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        assert cursor.fetchone()[0] is False
