"""manage.py bench: how fast the site is, as ratios measured side by side in one run."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import connection

from labstock.bench.speed import measuring
from labstock.bench.speed.generated_lab import ENTRIES_EACH, generate_lab
from labstock.bench.speed.measuring import Timing, side_by_side
from labstock.bench.speed.site import Client, serving, signed_in
from labstock.people.models import User
from labstock.stock.models import Container

PAGES = {
    "scan page": "/C/{code}",
    "stock list": "/stock/",
    "sample search": "/samples/?q=benz",
    "front page": "/",
}


class Command(BaseCommand):
    help = "Measure draws and pages on generated labs; `bench numbers` measures the arithmetic."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", nargs="?", choices=["site", "numbers"], default="site")
        parser.add_argument("--small", type=int, default=1_000, help="containers of the small lab (1,000)")
        parser.add_argument(
            "--large", type=int, default=100_000, help="containers of the large lab (100,000)"
        )
        parser.add_argument("--runs", type=int, default=200, help="runs of each act (200)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] == "numbers":
            from labstock.bench.numbers_speed import measure

            for row in measure():
                self.stdout.write(str(row))
            return
        call_command("collectstatic", interactive=False, verbosity=0)
        self.stdout.write(f"engine: {connection.vendor}; {ENTRIES_EACH} ledger lines to a container\n")
        with a_lab(options["small"], options["verbosity"]) as person:
            small = self._pages(person, options["runs"])
            self._draws(person, options["runs"])
        with a_lab(options["large"], options["verbosity"]) as person:
            large = self._pages(person, options["runs"])
        self.stdout.write(
            f"\n{'page':<16}{options['small']:>12,} {options['large']:>12,}   ratio of the medians"
        )
        for name, before in small.items():
            after = large[name]
            self.stdout.write(
                f"{name:<16}{before.median * 1000:9.1f} ms {after.median * 1000:9.1f} ms   {after.median / before.median:.2f}"
            )

    def _draws(self, person: User, runs: int) -> None:
        bottles = list(Container.objects.order_by("number")[:20])
        with serving() as port, measuring.raw_folder() as folder:
            session = signed_in(person)
            timings = side_by_side(
                {
                    "HTTP": measuring.draw_through_http(Client(port, session), bottles[0].code),
                    "ORM": measuring.draw_through_orm(bottles[1], person),
                    "raw sqlite3": measuring.draw_through_raw_sqlite(Path(folder)),
                },
                runs,
            )
            self.stdout.write("draws, one after another")
            for timing in timings.values():
                self.stdout.write(
                    f"  {timing.name:<12} {timing.per_second:8.0f}/s  p50 {timing.median * 1000:6.2f} ms"
                )
            self._ratio("HTTP", "ORM", timings)
            self._ratio("ORM", "raw sqlite3", timings)
            together = measuring.crowd(
                lambda n: measuring.draw_through_http(Client(port, session), bottles[2 + n].code),
                8,
                max(runs // 4, 10),
            )
        p50, p99 = together.median, together.quantile(0.99)
        self.stdout.write(
            f"  8 at once    p50 {p50 * 1000:.1f} ms, p99 {p99 * 1000:.1f} ms, p99/p50 {p99 / p50:.1f}"
        )

    def _ratio(self, over: str, under: str, timings: dict[str, Timing]) -> None:
        share = timings[over].per_second / timings[under].per_second
        self.stdout.write(f"  {over} at {share:.2f} of the rate of {under}")

    def _pages(self, person: User, runs: int) -> dict[str, Timing]:
        code = Container.objects.order_by("number")[7].code
        with serving() as port:
            client = Client(port, signed_in(person))
            return side_by_side(
                {name: partial(_fetched, client, path.format(code=code)) for name, path in PAGES.items()},
                max(runs // 4, 20),
            )


def _fetched(client: Client, path: str) -> bytes:
    status, body = client.get(path)
    if status != 200:
        raise RuntimeError(f"{path} was answered {status}: {body[:300]!r}")
    return body


@contextmanager
def a_lab(containers: int, verbosity: int) -> Iterator[User]:
    """Make a database of its own for a generated lab, and throw it away afterwards."""
    with TemporaryDirectory(prefix="bench-", dir=settings.DATA_DIR) as folder:
        own = connection.settings_dict["NAME"]
        if connection.vendor == "sqlite":
            connection.close()
            connection.settings_dict["NAME"] = Path(folder) / "bench.sqlite3"
            call_command("migrate", verbosity=0)
        else:
            connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            person = generate_lab(containers, quiet=verbosity == 0)
            with connection.cursor() as cursor:
                cursor.execute("ANALYZE")
            yield person
        finally:
            if connection.vendor == "sqlite":
                connection.close()
                connection.settings_dict["NAME"] = own
            else:
                connection.creation.destroy_test_db(str(own), verbosity=0)
