"""manage.py verify: recompute the ledger's sums and hash chains."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from tqdm import tqdm

from labstock.stock.models import Entry
from labstock.stock.queries import site_head
from labstock.stock.verifying import find_faults


class Command(BaseCommand):
    help = "Recompute every sum and hash chain of the ledger; name the first broken line; exit code 1 if any."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--all", action="store_true", help="list every fault, not only the first")
        parser.add_argument("--head", metavar="HEX", help="compare with the head printed on a report")

    def handle(self, *args: Any, **options: Any) -> None:
        count = Entry.objects.count()
        with tqdm(total=count, unit=" lines", disable=options["verbosity"] == 0) as bar:
            faults = find_faults(bar.update)
            first = next(faults, None)
            rest = list(faults) if first and options["all"] else []
        for fault in [first, *rest] if first else []:
            self.stderr.write(f"BROKEN {fault}")
        if first:
            raise SystemExit(1)
        head = site_head()
        if options["head"] and options["head"].replace(" ", "").lower() != head:
            self.stderr.write(
                f"The ledger is whole, but its head is {head}: lines were added since that print-out."
            )
            raise SystemExit(1)
        self.stdout.write(f"The ledger is whole: {count} lines. Head {head}")
