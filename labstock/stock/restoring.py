"""Put a backup back: only where nothing is lost by it, and only if it is whole before and after."""

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import dj_database_url
from django.conf import settings
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, OperationalError, connections
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.backups import SQLITE_FILE, Manifest, Progress, check_files, read_manifest, verify_all
from labstock.stock.codes import show_code
from labstock.stock.copying import load_tables, opened, tables_of
from labstock.stock.heads import Walk
from labstock.stock.models import Entry

SQLITE_ENGINE = "django.db.backends.sqlite3"
POSTGRES = ("postgres://", "postgresql://")
DATABASE_NAME = "labstock.sqlite3"
ALIAS = "restored"


@dataclass(frozen=True)
class Place:
    """Where a backup is put back: how Django reaches the database, and the folder of the photographs."""

    about: dict[str, object]
    photos: Path
    words: str

    @property
    def engine(self) -> str:
        """Return "sqlite" or "postgresql"."""
        return "sqlite" if self.about["ENGINE"] == SQLITE_ENGINE else "postgresql"


def place_for(into: str = "", photos: str = "") -> Place:
    """Return the place a person names: nothing for the site's own, a folder for SQLite, an address for PostgreSQL."""
    pictures = Path(photos).expanduser().resolve() if photos else Path(settings.MEDIA_ROOT)
    if not into:
        return Place(dict(connections[DEFAULT_DB_ALIAS].settings_dict), pictures, "the site's own database")
    if into.startswith(POSTGRES):
        about = {"OPTIONS": {}, **dj_database_url.parse(into)}
        return Place(about, pictures, f"the database {about['NAME']}")
    folder = Path(into).expanduser().resolve()
    about = {"ENGINE": SQLITE_ENGINE, "NAME": str(folder / DATABASE_NAME), "OPTIONS": {}}
    return Place(about, pictures if photos else folder / "photos", str(folder))


def restore(folder: Path, place: Place, progress: Progress) -> Manifest:
    """Put a backup back into an empty place, bring it to this version, verify it, and return what it says."""
    manifest = read_manifest(folder)
    check_files(folder, manifest, progress)
    _check_fits(manifest, place)
    _refuse_to_overwrite(manifest, place)
    photos = _photos_to_copy(folder / "photos", place.photos)
    try:
        (_load_sqlite if place.engine == "sqlite" else _load_postgres)(folder, place, manifest, progress)
        for number, (source, target) in enumerate(photos, 1):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, target)
            progress("photographs", number, len(photos))
    except OSError as error:
        raise LabError(
            "cannot-write",
            "The backup could not be put into {place} ({reason}): free some space there or name another place.",
            place=place.words,
            reason=error.strerror or error,
        ) from error
    return manifest


def _check_fits(manifest: Manifest, place: Place) -> None:
    if manifest.engine != place.engine:
        raise LabError(
            "other-engine",
            "This backup was made of {engine} and {place} is {other}: name a {wanted} with --into.",
            engine=manifest.engine,
            place=place.words,
            other=place.engine,
            wanted="folder" if manifest.engine == "sqlite" else "PostgreSQL address (postgres://…)",
        )
    known = MigrationExecutor(None).loader.disk_migrations or {}
    for app, name in manifest.migrations:
        if (app, name) not in known:
            raise LabError(
                "newer-version",
                "This backup was made by a version that knows the change {app} {name}, and this one does not: restore "
                "it with that version, or a later one.",
                app=app,
                name=name,
            )


def _refuse_to_overwrite(manifest: Manifest, place: Place) -> None:
    """Refuse a database in which anybody has written anything, and say what it has that the backup has not."""
    if place.engine == "sqlite" and not Path(str(place.about["NAME"])).exists():
        return
    with opened(ALIAS, **place.about) as using:
        try:
            there = set(connections[using].introspection.table_names())
        except OperationalError as error:
            raise LabError(
                "no-database",
                "{place} cannot be reached ({reason}): make it first (createdb), or check the address.",
                place=place.words,
                reason=str(error).strip(),
            ) from error
        if not there:
            return
        if there.isdisjoint(tables_of(using)) or not {"people_user", "stock_entry"} <= there:
            raise LabError(
                "other-tables",
                "{place} holds other tables: name an empty one with --into.",
                place=place.words,
            )
        people, lines = User.objects.using(using).count(), Entry.objects.using(using).count()
        if people or lines:
            raise LabError(
                "not-empty",
                "{place} is in use: {people} people, {lines} ledger lines. {newer} Nothing was overwritten. To look at the "
                "backup, restore it beside: --into FOLDER or --into postgres://…; to replace the database with it, move that "
                "away first.",
                place=place.words[0].upper() + place.words[1:],
                people=people,
                lines=f"{lines:,}",
                newer=newer_than(manifest, using),
            )


def newer_than(manifest: Manifest, using: str) -> str:
    """Say what a database has that a backup has not."""
    walk = Walk(manifest.head)
    for _ in walk.misfits(using):
        pass
    made = f"{timezone.localtime(manifest.moment):%d %b %Y %H:%M %Z}"
    if not walk.is_found:
        return f"Its ledger does not lead through that of the backup of {made}: they are of different labs, or one was changed."
    later = Entry.objects.using(using).filter(pk__gt=walk.found_row)
    last = later.select_related("container").order_by("-pk").first()
    if last is None:
        return f"It holds everything that is in the backup of {made}, and no line more."
    many, bottles = walk.lines - walk.found_line, later.values("container").distinct().count()
    return (
        f"It holds everything that is in the backup of {made} and {many:,} line{'s' if many > 1 else ''} more, in {bottles} "
        f"container{'s' if bottles > 1 else ''}, the last by {last.by_name} on "
        f"{timezone.localtime(last.recorded_at):%d %b %Y %H:%M %Z} ({show_code(last.container.code)})."
    )


def _photos_to_copy(source: Path, target: Path) -> list[tuple[Path, Path]]:
    """Return the photographs that are not in place yet; refuse to replace one by another."""
    pairs = [
        (path, target / path.relative_to(source)) for path in sorted(source.rglob("*")) if path.is_file()
    ]
    for path, there in pairs:
        if there.exists() and there.read_bytes() != path.read_bytes():
            raise LabError(
                "photo-in-the-way",
                "{there} is another photograph than the one in the backup: name an empty folder with --photos.",
                there=there,
            )
    return [(path, there) for path, there in pairs if not there.exists()]


def _load_sqlite(folder: Path, place: Place, manifest: Manifest, progress: Progress) -> None:
    """Copy the file aside, bring it up and verify it there, and only then put it in place."""
    final = Path(str(place.about["NAME"]))
    aside = final.with_name(f"{final.name}.restoring")
    final.parent.mkdir(parents=True, exist_ok=True)
    try:
        shutil.copyfile(folder / SQLITE_FILE, aside)
        with opened(ALIAS, ENGINE=SQLITE_ENGINE, NAME=str(aside), OPTIONS={}, CONN_MAX_AGE=0) as using:
            call_command("migrate", database=using, verbosity=0, interactive=False)
            _check_head(manifest, using, progress)
        connections[DEFAULT_DB_ALIAS].close()  # it may be this very file, still empty
        for beside in ("-wal", "-shm"):
            final.with_name(final.name + beside).unlink(missing_ok=True)
        os.replace(aside, final)
    finally:
        aside.unlink(missing_ok=True)


def _load_postgres(folder: Path, place: Place, manifest: Manifest, progress: Progress) -> None:
    """Make the tables as they were then, fill them, and go on from there to this version."""
    with opened(ALIAS, **place.about) as using:
        MigrationExecutor(connections[using]).migrate(_last_of_each_app(manifest, using))
        load_tables(using, folder / "tables", lambda *n: progress("loading", *n))
        call_command("migrate", database=using, verbosity=0, interactive=False)
        _check_head(manifest, using, progress)


def _last_of_each_app(manifest: Manifest, using: str) -> list[tuple[str, str]]:
    """Return the migrations to go to; Django would go backwards if told one that another has brought along."""
    graph = MigrationExecutor(connections[using]).loader.graph
    applied = {(app, name) for app, name in manifest.migrations}
    return sorted(
        node
        for node in applied & graph.nodes.keys()
        if not any(
            child.key in applied and child.key[0] == node[0] for child in graph.node_map[node].children
        )
    )


def _check_head(manifest: Manifest, using: str, progress: Progress) -> None:
    walk = verify_all(using, progress)
    if (walk.head, walk.lines) != (manifest.head, manifest.lines):
        raise LabError(
            "not-the-same",
            "What was put back has {lines} lines and the head {head}, the backup said {said_lines} and {said}: do not use it, "
            "take another backup.",
            lines=walk.lines,
            head=walk.head[:12],
            said_lines=manifest.lines,
            said=manifest.head[:12],
        )
