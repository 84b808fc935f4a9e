"""Fixtures of all tests: which database, fast passwords, and a flush that the ledger's guards let through."""

import os
from collections.abc import Iterator

import hypothesis
import pytest
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase

# A busy machine makes a correct test slow now and then; only CI's own profile is left as it is.
hypothesis.settings.register_profile("unhurried", hypothesis.settings.get_profile("default"), deadline=None)
if not os.environ.get("CI"):
    hypothesis.settings.load_profile("unhurried")


def pytest_configure() -> None:
    """Make passwords cheap, and serve style sheets from where they are written, uncollected."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.WHITENOISE_AUTOREFRESH = settings.WHITENOISE_USE_FINDERS = True


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
    """Take the ledger's triggers away while a transactional test's rows are flushed; they refuse every DELETE."""
    flush = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # private, not in the stubs

    def flush_without_guards(self: TransactionTestCase) -> None:
        from labstock.stock import guards  # its imports need the apps, which are loaded after this file

        guards.remove(connection)
        try:
            flush(self)
        finally:
            guards.install(connection)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", flush_without_guards)
        yield


@pytest.fixture(scope="session", autouse=True)
def photos_of_their_own(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep photos that tests send out of the data folder."""
    settings.MEDIA_ROOT = tmp_path_factory.mktemp("photos")


@pytest.fixture
def engine() -> str:
    """Return "sqlite" or "postgresql", for the few tests that speak to the database in its own words."""
    return connection.vendor
