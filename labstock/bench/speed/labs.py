"""Databases of their own for generated labs: made, kept if wanted, and stood in for the site's own for a while."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import load_backend

from labstock.bench.speed.generated_lab import ENTRIES_EACH, generate_lab, person_of
from labstock.people.models import User
from labstock.stock.models import Container, Entry, KeptHead


@dataclass
class Lab:
    """One generated lab: its size, its database, and a person who may draw."""

    containers: int
    connection: BaseDatabaseWrapper

    @contextmanager
    def at_hand(self) -> Iterator[User]:
        """Let the site's models read and write this lab."""
        before = connections[DEFAULT_DB_ALIAS]
        connections[DEFAULT_DB_ALIAS] = self.connection
        try:
            yield person_of()
        finally:
            connections[DEFAULT_DB_ALIAS] = before

    @contextmanager
    def in_this_thread(self) -> Iterator[None]:
        """Give a thread of its own a connection to this lab, closed afterwards."""
        own = load_backend(self.connection.settings_dict["ENGINE"]).DatabaseWrapper(
            self.connection.settings_dict, DEFAULT_DB_ALIAS
        )
        connections[DEFAULT_DB_ALIAS] = own
        try:
            yield
        finally:
            own.close()


@contextmanager
def a_lab(containers: int, *, keep: Path | None = None, quiet: bool = False) -> Iterator[Lab]:
    """Make a generated lab, or take the one that was kept; without `keep` it is thrown away afterwards.

    SQLite's lie in the folder `keep`; on PostgreSQL they stay on the server, beside the site's own database.
    """
    if connections[DEFAULT_DB_ALIAS].vendor == "sqlite":
        with _folder(keep) as folder:
            yield from _opened(containers, folder / f"lab-{containers}.sqlite3", quiet)
        return
    site = connections[DEFAULT_DB_ALIAS]
    name = f"{site.settings_dict['NAME']}_lab_{containers}"
    if not (keep and name in _databases(site)):
        _on_server(site, f'DROP DATABASE IF EXISTS "{name}"', f'CREATE DATABASE "{name}"')
    try:
        yield from _opened(containers, name, quiet)
    finally:
        if not keep:
            _on_server(site, f'DROP DATABASE "{name}"')


@contextmanager
def _folder(keep: Path | None) -> Iterator[Path]:
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        yield keep
        return
    with TemporaryDirectory(prefix="bench-", dir=settings.DATA_DIR) as folder:
        yield Path(folder)


def _opened(containers: int, name: Path | str, quiet: bool) -> Iterator[Lab]:
    about: dict[str, Any] = {**connections[DEFAULT_DB_ALIAS].settings_dict, "NAME": name}
    lab = Lab(containers, load_backend(about["ENGINE"]).DatabaseWrapper(about, DEFAULT_DB_ALIAS))
    try:
        _fill(lab, quiet)
        yield lab
    finally:
        lab.connection.close()


def _fill(lab: Lab, quiet: bool) -> None:
    """Generate what is not there yet; a kept lab is brought to the present tables and must still verify."""
    before = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = lab.connection
    try:
        call_command("migrate", verbosity=0)
        if not KeptHead.objects.exists():  # the last thing that is written
            if Container.objects.exists():
                raise SystemExit(f"{lab.connection.settings_dict['NAME']} was left half made: delete it.")
            generate_lab(lab.containers, quiet=quiet)
        if not _is_as_today():
            raise SystemExit(
                f"{lab.connection.settings_dict['NAME']} was made by another version: delete it."
            )
    finally:
        connections[DEFAULT_DB_ALIAS] = before


def _is_as_today() -> bool:
    """Say whether the ledger's lines still have the digests that today's models give them."""
    lines = [*Entry.objects.order_by("pk")[:ENTRIES_EACH], *Entry.objects.order_by("-pk")[:ENTRIES_EACH]]
    return all(line.digest() == line.hash for line in lines)


def _databases(site: BaseDatabaseWrapper) -> set[str]:
    with site.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database")
        return {name for (name,) in cursor.fetchall()}


def _on_server(site: BaseDatabaseWrapper, *statements: str) -> None:
    with site._nodb_cursor() as cursor:  # the way Django makes its test databases
        for statement in statements:
            cursor.execute(statement)
