"""Build the reference file that new substances are prefilled from."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from tqdm import tqdm

from labstock.chemistry.errors import LabError
from labstock.chemistry.reference import build_reference


class Command(BaseCommand):
    """Write the names, structures and properties of the installed reference data to one read-only file."""

    help = "Build the file of reference data that new substances are prefilled from (once; about a minute)."

    def handle(self, *args: Any, **options: Any) -> None:
        """Build it beside the database, with a progress bar."""
        with tqdm(desc="reference data", unit=" rows", disable=options["verbosity"] == 0) as bar:

            def report(done: int, total: int) -> None:
                bar.total = total
                bar.update(done - bar.n)

            try:
                counts = build_reference(settings.REFERENCE_FILE, report)
            except LabError as error:
                raise CommandError(error.message) from error
        self.stdout.write(
            f"{counts['substances']:,} substances, {counts['names']:,} names and {counts['properties']:,} "
            f"properties are in {settings.REFERENCE_FILE}."
        )
