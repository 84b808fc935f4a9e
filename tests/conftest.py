"""Fixtures of all tests: which database, fast passwords, and a flush that the ledger's guards let through."""

import os
from collections.abc import Iterator

import hypothesis
import pytest
from django.conf import settings
from django.core.management.color import no_style
from django.db import connection, transaction
from django.test import TransactionTestCase

# A busy machine makes a correct test slow now and then; only CI's own profile is left as it is.
hypothesis.settings.register_profile("unhurried", hypothesis.settings.get_profile("default"), deadline=None)
if not os.environ.get("CI"):
    hypothesis.settings.load_profile("unhurried")

MADE_BY_MIGRATING = {"django_migrations", "django_content_type", "auth_permission"}


def pytest_configure() -> None:
    """Make passwords cheap, and serve style sheets from where they are written, uncollected."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.WHITENOISE_AUTOREFRESH = settings.WHITENOISE_USE_FINDERS = True


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what asks a database; the rest is the same on every engine and need be tried on one only."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if item.get_closest_marker("django_db") or fixtures & {"db", "transactional_db", "live_server"}:
            item.add_marker(pytest.mark.database)


def pytest_report_header() -> str:
    """Say which database the run is on, above its first dot."""
    return f"database: {settings.DATABASES['default']['ENGINE']}"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Keep SQLite's test database in a file: the live server's threads then have connections of their own.

    In memory they would all share the test's one connection, which is neither how the site runs nor safe.
    """
    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = tmp_path_factory.mktemp("db") / "test.sqlite3"


@pytest.fixture(scope="session", autouse=True)
def flush_that_lifts_the_guards() -> Iterator[None]:
    """Empty the database after a transactional test: only tables that hold rows, and past the ledger's triggers.

    Django's own flush empties every table and makes the permissions anew, which takes four times as long.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lambda self: empty())
        yield


def empty() -> None:
    """Delete every row but those that migrating makes."""
    from labstock.stock import guards  # its imports need the apps, which are loaded after this file

    names = sorted(set(connection.introspection.django_table_names(only_existing=True)) - MADE_BY_MIGRATING)
    asked = " UNION ALL ".join(f"SELECT '{name}' WHERE EXISTS (SELECT 1 FROM {name})" for name in names)
    is_postgres = connection.vendor == "postgresql"  # it truncates, and then only with all that refer to it
    # in one transaction: a page that a browser still waits for may write before it or after it, not in between
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(asked)
        if filled := [name for (name,) in cursor.fetchall()]:
            guards.remove(connection)
            connection.ops.execute_sql_flush(
                connection.ops.sql_flush(no_style(), filled, allow_cascade=is_postgres)
            )
            guards.install(connection)


@pytest.fixture(scope="session", autouse=True)
def photos_of_their_own(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep photos that tests send out of the data folder."""
    settings.MEDIA_ROOT = tmp_path_factory.mktemp("photos")


@pytest.fixture
def engine() -> str:
    """Return "sqlite" or "postgresql", for the few tests that speak to the database in its own words."""
    return connection.vendor
