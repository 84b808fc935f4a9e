"""manage.py restore: put a backup back, where nothing is lost by it."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from labstock.chemistry.errors import LabError
from labstock.stock.management.progress import bars
from labstock.stock.restoring import place_for, restore


class Command(BaseCommand):
    help = "Put a backup back into an empty database; one that is in use is never overwritten."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", help="the backup: a folder labstock-…")
        parser.add_argument(
            "--into",
            default="",
            metavar="PLACE",
            help="instead of the site's own database: a folder (SQLite; it can be used as LABSTOCK_DATA) or the address "
            "of an empty PostgreSQL database (postgres://…)",
        )
        parser.add_argument(
            "--photos", default="", metavar="FOLDER", help="where the photographs go, if elsewhere"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        place = place_for(options["into"], options["photos"])
        try:
            with bars(options["verbosity"] == 0) as progress:
                manifest = restore(Path(options["folder"]).expanduser().resolve(), place, progress)
        except LabError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Restored into {place.words} and verified: the backup of {manifest.made_at}, {manifest.lines:,} lines, "
            f"{manifest.containers:,} containers. Head {manifest.head}"
        )
