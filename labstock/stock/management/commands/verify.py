"""manage.py verify: recompute the ledger's sums, seals and hash chains; confirm an old print-out."""

import re
import time
from contextlib import closing
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from tqdm import tqdm

from labstock.stock.codes import show_code
from labstock.stock.heads import KEEP_EVERY, Walk, keep
from labstock.stock.models import Entry
from labstock.stock.snapshot import one_moment
from labstock.stock.verifying import CONFIRMS, Fault, find_faults, wrong_heads

FEWEST_DIGITS = 12


class Command(BaseCommand):
    help = (
        "Recompute every sum, seal and hash chain; name the first broken line; exit code 1 if any is broken."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--all", action="store_true", help="list every fault, not only the first")
        parser.add_argument(
            "--head",
            metavar="HEX",
            default="",
            help="confirm the head on an old print-out: the whole of it, or its first 12 digits or more",
        )

        parser.add_argument(
            "--workers", type=int, default=1, help="processes that check containers at the same time (1)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        walk = Walk(read_head(options["head"]))
        with one_moment():
            count, start = Entry.objects.count(), time.monotonic()
            bar = tqdm(total=count, unit=" lines", disable=options["verbosity"] == 0)
            with bar, closing(find_faults(bar.update, workers=options["workers"])) as found:
                faults = list(found) if options["all"] else [fault for fault in [next(found, None)] if fault]
            if not faults or options["all"]:
                faults += wrong_heads(walk)
            seconds = time.monotonic() - start
            if not faults:
                self.stdout.write(
                    f"The ledger is whole: {count:,} lines in {seconds:.1f} s, {count / max(seconds, 1e-3):,.0f} "
                    f"lines per second. Head {walk.head}"
                )
            self._report(faults, walk)
        if walk.lines >= KEEP_EVERY:
            keep(walk.last_row, walk.head)  # reports find their head from here

    def _report(self, faults: list[Fault], walk: Walk) -> None:
        for fault in faults:
            self.stderr.write(f"BROKEN {fault}")
        if faults or (walk.wanted and not self._confirm(walk)):
            raise SystemExit(1)

    def _confirm(self, walk: Walk) -> bool:
        line = Entry.objects.filter(pk=walk.found_row).select_related("container").first()
        if line is not None:
            later = walk.lines - walk.found_line
            self.stdout.write(f"That was the head of the whole ledger after {named(line)}. {since(later)}")
            return True
        line = Entry.objects.filter(hash__startswith=walk.wanted).select_related("container").first()
        if line is not None:
            later = line.container.last_seq - line.seq
            self.stdout.write(
                f"That was the head of this container alone after {named(line)}. {since(later)}"
            )
            return True
        if told := next(filter(None, (confirm(walk.wanted) for confirm in CONFIRMS)), ""):
            self.stdout.write(told)
            return True
        if walk.is_found:
            self.stdout.write(f"That is the head of an empty ledger. {since(walk.lines)}")
            return True
        self.stderr.write(
            f"This ledger never had the head {walk.wanted}: a line before that print-out was changed or removed, the "
            "print-out is from another database, or a digit was misread."
        )
        return False


def read_head(typed: str) -> str:
    """Return the hex digits of a head as typed, or refuse."""
    head = re.sub(r"[\s\u00a0-]", "", typed).lower()
    if head and not re.fullmatch(rf"[0-9a-f]{{{FEWEST_DIGITS},64}}", head):
        raise CommandError(
            f"'{typed}' is no head: give the hex digits of the print-out, {FEWEST_DIGITS} to 64 of 0-9 and a-f."
        )
    return head


def named(line: Entry) -> str:
    """Say which line and when it was written down."""
    at = timezone.localtime(line.recorded_at)
    code = show_code(line.container.code).replace("\u00a0", " ")
    return f"line {line.seq} of {code}, written {at:%d %b %Y %H:%M %Z}"


def since(lines: int) -> str:
    """Say how much was added later."""
    if not lines:
        return "Nothing was added since."
    return f"Since then {lines:,} line{' was' if lines == 1 else 's were'} added; none of those before was changed."
