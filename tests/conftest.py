"""Set up for every test: own PostgreSQL and Valkey, then Django on them, then the fixtures."""

import os

import django
import pytest

from tests.services import services  # first, since it says where the database will be

os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
# Playwright's loop runs in the thread that also asks the database; the two don't interleave.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

django.setup()

from django.conf import settings  # noqa: E402

# pytest-xdist's workers inherit the environment, and pytest-django reads settings as soon as it
# finds them named: before this file could say where the worker's own database is.
del os.environ["DJANGO_SETTINGS_MODULE"]
if settings.DATABASES["default"]["HOST"] != str(services.postgres.sockets):
    pytest.exit("Unset DJANGO_SETTINGS_MODULE: the tests make a database of their own.", 2)

# A slow hash protects real people; here every test that signs in would pay for it.
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

pytest_plugins = ["tests.background", "tests.browser.fixtures"]


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """Start PostgreSQL just before the first test that needs a database."""
    services.start_postgres()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark by what a test asks for, so that nobody forgets to."""
    for item in items:
        asked_for = getattr(item, "fixturenames", ())
        for fixture, mark in (("open_page", "browser"), ("worker", "worker")):
            if fixture in asked_for:
                item.add_marker(mark)


def pytest_unconfigure() -> None:
    """Stop the servers and remove their folder."""
    services.stop()
