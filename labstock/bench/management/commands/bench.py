"""manage.py bench: how fast the site is, as ratios measured side by side in one run."""

import sys
from collections.abc import Callable
from contextlib import ExitStack
from functools import partial
from itertools import cycle
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import connection

from labstock.bench.speed import measuring
from labstock.bench.speed.labs import Lab, a_lab
from labstock.bench.speed.made_rows import ENTRIES_EACH
from labstock.bench.speed.measuring import Act, Timing, side_by_side
from labstock.bench.speed.probes import pages, usual_containers
from labstock.bench.speed.site import Client, serving, signed_in
from labstock.wsgi import SWITCH_SECONDS

MOST_AT_ONCE = 8


class Command(BaseCommand):
    help = "Measure draws and pages on generated labs; `bench numbers` measures the arithmetic."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", nargs="?", choices=["site", "numbers"], default="site")
        parser.add_argument("--small", type=int, default=1_000, help="containers of the small lab (1,000)")
        parser.add_argument(
            "--large", type=int, default=100_000, help="containers of the large lab (100,000)"
        )
        parser.add_argument(
            "--runs", type=int, default=200, help="runs of each act (200); of each page a quarter"
        )
        parser.add_argument(
            "--keep",
            type=Path,
            help="folder in which the generated labs are kept and taken from the next time",
        )
        parser.add_argument("--only", default="", help="only pages whose name holds this; no draws")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] == "numbers":
            from labstock.bench.numbers_speed import measure

            for row in measure():
                self.stdout.write(str(row))
            return
        call_command("collectstatic", interactive=False, verbosity=0)
        self.stdout.write(f"engine: {connection.vendor}; {ENTRIES_EACH} ledger lines to a container\n")
        with ExitStack() as stack:
            labs = [
                stack.enter_context(a_lab(many, keep=options["keep"], quiet=options["verbosity"] == 0))
                for many in (options["small"], options["large"])
            ]
            if not options["only"]:
                self._draws(labs[0], options["runs"])
            self._side_by_side(labs, options["runs"], options["only"])

    def _draws(self, lab: Lab, runs: int) -> None:
        with lab.at_hand() as person, serving() as port, measuring.raw_folder() as folder:
            bottles, session = usual_containers(lab.containers), signed_in(person)
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
                MOST_AT_ONCE,
                max(runs // 4, 10),
            )
            sys.setswitchinterval(SWITCH_SECONDS)  # as the site is served
            writers = measuring.crowd(
                lambda n: measuring.draw_through_orm(bottles[2 + n], person),
                MOST_AT_ONCE,
                max(runs // 4, 10),
                lab.in_this_thread,
            )
        self._at_once("writers", writers)
        self._at_once("over HTTP", together)

    def _at_once(self, who: str, timing: Timing) -> None:
        p50, p99 = timing.median, timing.quantile(0.99)
        self.stdout.write(
            f"  {MOST_AT_ONCE} {who} at once: p50 {p50 * 1000:.1f} ms, p99 {p99 * 1000:.1f} ms, "
            f"p99/p50 {p99 / p50:.1f}"
        )

    def _ratio(self, over: str, under: str, timings: dict[str, Timing]) -> None:
        share = timings[over].per_second / timings[under].per_second
        self.stdout.write(f"  {over} at {share:.2f} of the rate of {under}")

    def _side_by_side(self, labs: list[Lab], runs: int, only: str) -> None:
        """Time every act in the small lab and in the large one in turn."""
        with ExitStack() as stack:
            acts = [stack.enter_context(_Acts(lab, with_draws=not only)).acts for lab in labs]
            small, large = labs
            self.stdout.write(
                f"\n{'':<24}{small.containers:>12,} {large.containers:>12,}   ratio of the medians"
            )
            for name in acts[0]:
                if only not in name:
                    continue
                pair = {str(lab.containers): made[name] for lab, made in zip(labs, acts, strict=True)}
                before, after = side_by_side(pair, max(runs // 4, 10), warm_up=3).values()
                self.stdout.write(
                    f"{name:<24}{before.median * 1000:9.1f} ms {after.median * 1000:9.1f} ms   "
                    f"{after.median / before.median:.2f}"
                )


class _Acts:
    """A lab's server, and what is asked of it."""

    def __init__(self, lab: Lab, *, with_draws: bool) -> None:
        self.lab, self.with_draws, self.stack = lab, with_draws, ExitStack()
        self.acts: dict[str, Act] = {}

    def __enter__(self) -> "_Acts":
        with self.lab.at_hand() as person:
            client = Client(self.stack.enter_context(serving()), signed_in(person))
            bottles = usual_containers(self.lab.containers)
            self.acts |= {
                name: partial(_fetched, client, path)
                for name, path in pages(self.lab.containers, person).items()
            }
            if self.with_draws:
                # the one container grows no longer than the other: each draw goes to the next bottle
                through_http = [measuring.draw_through_http(client, bottle.code) for bottle in bottles]
                through_orm = [measuring.draw_through_orm(bottle, person) for bottle in bottles]
                self.acts["draw, HTTP"] = _in_turn(through_http)
                self.acts["draw, action"] = self._here(_in_turn(through_orm))
        return self

    def __exit__(self, *error: object) -> None:
        self.stack.close()

    def _here(self, act: Act) -> Act:
        def with_lab() -> object:
            with self.lab.at_hand():
                return act()

        return with_lab


def _in_turn(acts: list[Act]) -> Callable[[], object]:
    turn = cycle(acts)
    return lambda: next(turn)()


def _fetched(client: Client, path: str) -> bytes:
    status, body = client.get(path)
    if status != 200:
        raise RuntimeError(f"{path} was answered {status}: {body[:300]!r}")
    return body
