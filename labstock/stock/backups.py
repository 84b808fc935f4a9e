"""Backups that can be trusted: one moment of the database, the photographs, a manifest, all read back before it counts.

A backup is a folder: manifest.json, photos/, and database.sqlite3 (SQLite) or tables/*.csv (PostgreSQL). It is written under
a name ending in .part and gets its own name when everything in it was read again and found right.
"""

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.copying import copy_sqlite, copy_tables, opened_copy
from labstock.stock.heads import Walk
from labstock.stock.models import Container, Entry
from labstock.stock.snapshot import one_moment
from labstock.stock.verifying import find_faults, wrong_heads

MANIFEST = "manifest.json"
SQLITE_FILE = "database.sqlite3"
FORMAT = 1
# told often: what is being done, how much of it is done, how much there is
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself; every other file in it is under a hash here."""

    made_at: str
    engine: str
    lab: str
    head: str
    lines: int
    last_row: int
    people: int
    containers: int
    migrations: list[list[str]]
    files: dict[str, str] = field(default_factory=dict)
    format: int = FORMAT

    @property
    def moment(self) -> datetime:
        """Return when it was made."""
        return datetime.fromisoformat(self.made_at)


def make_backup(parent: Path, progress: Progress, at: datetime | None = None) -> tuple[Path, Manifest]:
    """Write a backup into a new folder under `parent`, read it again, and return the folder and what it says."""
    now = at or timezone.now()
    final = parent / f"labstock-{now:%Y%m%dT%H%M%SZ}"
    with _unfinished(final) as folder:
        engine = connections[DEFAULT_DB_ALIAS].vendor
        manifest = (_save_sqlite if engine == "sqlite" else _save_tables)(folder, now, progress)
        _copy_photos(folder / "photos", progress)
        manifest = Manifest(**{**asdict(manifest), "files": hashes_of(folder, progress)})
        _write(folder / MANIFEST, json.dumps(asdict(manifest), indent=1, sort_keys=True))
        check_files(folder, manifest, progress)
        _settle_on_disk(folder)
        folder.rename(final)
    return final, manifest


@contextmanager
def _unfinished(final: Path) -> Iterator[Path]:
    """Hand out the folder to write into; what is left unfinished is taken away."""
    folder = final.with_name(f"{final.name}.part")
    if final.exists() or folder.exists():
        raise LabError(
            "backup-exists", "{folder} is there already: wait a second and try again.", folder=final
        )
    try:
        folder.mkdir(parents=True)
        _check_room(folder)
        yield folder
    except OSError as error:
        raise LabError(
            "cannot-write",
            "The backup could not be written to {folder} ({reason}). Nothing was kept: free some space there, or name "
            "another folder.",
            folder=final,
            reason=error.strerror or error,
        ) from error
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _check_room(folder: Path) -> None:
    photos = sum(path.stat().st_size for path in _files(Path(settings.MEDIA_ROOT)))
    need, free = photos + _database_bytes(), shutil.disk_usage(folder).free
    if need > free:
        raise LabError(
            "no-room",
            "The backup takes about {need} MB and {folder} has {free} MB free: free some space, or name another folder.",
            need=need // 1_000_000 + 1,
            folder=folder.parent,
            free=free // 1_000_000,
        )


def _database_bytes() -> int:
    connection = connections[DEFAULT_DB_ALIAS]
    if connection.vendor == "sqlite":
        return Path(connection.settings_dict["NAME"]).stat().st_size
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def _save_sqlite(folder: Path, now: datetime, progress: Progress) -> Manifest:
    """Copy the file page by page as of one moment; then open the copy and verify that."""
    copy = folder / SQLITE_FILE
    copy_sqlite(
        Path(connections[DEFAULT_DB_ALIAS].settings_dict["NAME"]), copy, lambda *n: progress("copying", *n)
    )
    with opened_copy(copy) as using:
        return _verified(using, now, progress)


def _save_tables(folder: Path, now: datetime, progress: Progress) -> Manifest:
    """Copy every table and verify, both as of the same moment."""
    with one_moment():
        manifest = _verified(DEFAULT_DB_ALIAS, now, progress)
        copy_tables(DEFAULT_DB_ALIAS, folder / "tables", lambda *n: progress("copying", *n))
    return manifest


def _verified(using: str, now: datetime, progress: Progress) -> Manifest:
    """Verify the ledger in a database and return what a manifest says of it."""
    walk = verify_all(using, progress)
    last = Entry.objects.using(using).order_by("-pk").values_list("pk", flat=True).first()
    return Manifest(
        made_at=now.isoformat(timespec="seconds"),
        engine=connections[using].vendor,
        lab=settings.LABSTOCK_LAB_NAME,
        head=walk.head,
        lines=walk.lines,
        last_row=last or 0,
        people=User.objects.using(using).count(),
        containers=Container.objects.using(using).count(),
        migrations=sorted(
            [app, name] for app, name in MigrationRecorder(connections[using]).applied_migrations()
        ),
    )


def verify_all(using: str, progress: Progress) -> Walk:
    """Verify ledger and heads; refuse to go on with one that is broken."""
    many, done = Entry.objects.using(using).count(), 0

    def count(lines: int) -> None:
        nonlocal done
        done += lines
        progress("verifying", done, many)

    walk = Walk()
    with closing(find_faults(count, using)) as faults, closing(wrong_heads(walk, using)) as heads:
        fault = next(faults, None) or next(heads, None)
    if fault is not None:
        raise LabError(
            "ledger-broken",
            "The ledger is broken: {fault}. Do not go on with this database: keep it as it is, run 'manage.py verify --all', "
            "and go back to the last backup from before.",
            fault=fault,
        )
    return walk


def _copy_photos(to: Path, progress: Progress) -> None:
    """Copy the photographs, after the database: whatever it names is there by then."""
    root = Path(settings.MEDIA_ROOT)
    photos = list(_files(root))
    for number, path in enumerate(photos, 1):
        target = to / path.relative_to(root)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, target)
        progress("photographs", number, len(photos))


def _files(folder: Path) -> Iterator[Path]:
    """Yield every ordinary file below a folder, in a fixed order; links are not followed."""
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.is_file() and not path.is_symlink():
            yield path


def hashes_of(folder: Path, progress: Progress) -> dict[str, str]:
    """Return the SHA-256 of every file of a backup but its manifest, by its path inside."""
    files = [path for path in _files(folder) if path != folder / MANIFEST]
    hashes = {}
    for number, path in enumerate(files, 1):
        with path.open("rb") as file:
            hashes[path.relative_to(folder).as_posix()] = hashlib.file_digest(file, "sha256").hexdigest()
        progress("hashing", number, len(files))
    return hashes


def read_manifest(folder: Path) -> Manifest:
    """Read what a backup says of itself."""
    try:
        said = json.loads((folder / MANIFEST).read_text())
        manifest = Manifest(**said)
    except (OSError, ValueError, TypeError) as error:
        raise LabError(
            "no-backup",
            "{folder} is no backup that can be read ({reason}): name a folder labstock-… made by 'manage.py backup'.",
            folder=folder,
            reason=getattr(error, "strerror", None) or error,
        ) from error
    if manifest.format != FORMAT:
        raise LabError(
            "other-format",
            "{folder} has the format {format} and this version reads {ours}: use the version it was made with.",
            folder=folder,
            format=manifest.format,
            ours=FORMAT,
        )
    return manifest


def check_files(folder: Path, manifest: Manifest, progress: Progress) -> None:
    """Read every file of a backup again and refuse it if one is missing, added or changed."""
    found = hashes_of(folder, progress)
    for name in sorted(found.keys() | manifest.files.keys()):
        if found.get(name) == manifest.files.get(name):
            continue
        what = "is missing" if name not in found else "was changed" if name in manifest.files else "was added"
        raise LabError(
            "backup-damaged",
            "The backup {folder} is damaged: {name} {what} since it was made. Use another backup.",
            folder=folder,
            name=name,
            what=what,
        )


def _write(path: Path, text: str) -> None:
    path.write_text(text)


def _settle_on_disk(folder: Path) -> None:
    """Wait until everything is on the disk, so that a power cut after the last word takes nothing away."""
    for path in [*_files(folder), folder]:
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
