"""manage.py backup: one moment of the database and the photographs, checked after writing."""

import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from labstock.chemistry.errors import LabError
from labstock.stock.backups import make_backup
from labstock.stock.management.progress import bars
from labstock.writing import writing

ROWS_LOOKED_AT = 1000


class Command(BaseCommand):
    help = "Write a backup into a new dated folder while people work; it is read back and verified before it counts."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", nargs="?", help="where to put it (without: backups/ beside the data)")

    def handle(self, *args: Any, **options: Any) -> None:
        parent = Path(options["folder"]) if options["folder"] else Path(settings.DATA_DIR) / "backups"
        start = time.monotonic()
        try:
            with bars(options["verbosity"] == 0) as progress:
                folder, manifest = make_backup(parent.expanduser().resolve(), progress)
            look_over_sizes()
        except LabError as error:
            raise CommandError(str(error)) from error
        size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file()) / 1e6
        self.stdout.write(
            f"Backed up and read back: {folder}\n{manifest.lines:,} lines, {manifest.containers:,} containers, "
            f"{len(manifest.files)} files, {size:,.1f} MB in {time.monotonic() - start:.1f} s. Head {manifest.head}\n"
            "Keep a copy of the folder on another machine."
        )


def look_over_sizes() -> None:
    """Let SQLite note how large its tables have become: by that it picks its indexes. PostgreSQL does so by itself."""
    if connection.vendor != "sqlite":
        return
    with writing(), connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit = {ROWS_LOOKED_AT}")
        cursor.execute("ANALYZE")
