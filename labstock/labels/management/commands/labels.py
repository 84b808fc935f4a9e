"""manage.py labels: print the labels of everything in a place into a file, as when a whole stock is relabelled."""

import time
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from labstock.chemistry.errors import LabError
from labstock.labels.actions import log_prints
from labstock.labels.contents import content_of
from labstock.labels.queries import everything_in
from labstock.labels.sheets import render_selection
from labstock.people.models import User
from labstock.stock.management.progress import bars


class Command(BaseCommand):
    help = "Write the labels of all containers in a place, and in every place inside it, to a PDF."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the PDF to write")
        parser.add_argument("--place", required=True, help="the way to it from the room, as the pages say it")
        parser.add_argument("--by", required=True, help="the user name of who prints: every print is logged")
        parser.add_argument("--size", default="24-up", help="a sheet, one-per-page, or a size like 57x32")
        parser.add_argument("--start", type=int, default=1, help="the first free place on the first sheet")

    def handle(self, *args: Any, **options: Any) -> None:
        start = time.monotonic()
        try:
            count = self._print(**{name: options[name] for name in ("file", "place", "by", "size", "start")})
        except (LabError, OSError) as error:
            raise CommandError(getattr(error, "message", str(error))) from error
        seconds = time.monotonic() - start
        self.stdout.write(f"{count} label{'s' if count != 1 else ''} in {options['file']}, {seconds:.1f} s")

    def _print(self, *, file: Path, place: str, by: str, size: str, start: int) -> int:
        person = User.objects.filter(username=by, is_active=True).first()
        if person is None:
            raise LabError("unknown-person", "Nobody called {by} may log in here: give a user name.", by=by)
        with bars(is_quiet=False) as told:
            contents = [content_of(container) for container in everything_in(place)]
            pdf = render_selection(
                contents, size, start, progress=lambda done, many: told("drawing labels", done, many)
            )
        file.write_bytes(pdf)
        log_prints(by=person, codes=[content.code for content in contents], paper=size)
        return len(contents)
