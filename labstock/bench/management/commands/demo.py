"""manage.py demo: the whole site with invented data, on this machine, in one command."""

import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from labstock.bench.demo.loading import load_demo
from labstock.bench.demo.scenario import read_scenario
from labstock.bench.serving import serve
from labstock.people.models import User


class Command(BaseCommand):
    help = "Migrate, load the invented laboratory, and serve it on this machine."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--reset", action="store_true", help="throw the demo's data away and start over")
        parser.add_argument("--no-serve", action="store_true", help="stop after loading")
        parser.add_argument("--port", type=int, default=8000, help="the port to serve on (8000)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["reset"]:
            self._start_over()
        call_command("migrate", verbosity=0)
        if User.objects.exists():
            self.stdout.write("There is data already: it is kept. (--reset starts the demo over.)")
        else:
            self.stdout.write("Loading the invented laboratory of Tern Quay.")
            load_demo(read_scenario(), quiet=options["verbosity"] == 0)
        if not settings.REFERENCE_FILE.exists():
            self.stdout.write("Building the reference file of open substance data, once.")
            call_command("reference", verbosity=options["verbosity"])
        call_command("collectstatic", interactive=False, verbosity=0)
        self._tell(options["port"])
        if not options["no_serve"]:
            sys.stdout.flush()
            serve(options["port"])

    def _start_over(self) -> None:
        """Empty the database; only one that holds the demo's people."""
        if (
            "people_user" in connection.introspection.table_names()
            and User.objects.exclude(
                username__in=[person["username"] for person in read_scenario().people["person"]]
            ).exists()
        ):
            raise CommandError(
                "This database has people who are not of the demo: it is not thrown away. "
                "Name another folder by LABSTOCK_DATA, or another DATABASE_URL."
            )
        if connection.vendor == "sqlite":
            connection.close()
            path = Path(str(connection.settings_dict["NAME"]))
            for name in (path, Path(f"{path}-wal"), Path(f"{path}-shm")):
                name.unlink(missing_ok=True)
        else:
            with connection.cursor() as cursor:
                cursor.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")

    def _tell(self, port: int) -> None:
        demo = read_scenario().people
        self.stdout.write(
            f"\nOpen http://127.0.0.1:{port}/ and sign in as one of these; password {demo['password']}"
        )
        for person in demo["person"]:
            self.stdout.write(f"  {person['username']:<10} {' '.join(person['name'])}, {person['role']}")
        self.stdout.write(f"Data lies in {settings.DATA_DIR}. Stop with Ctrl+C.\n")
