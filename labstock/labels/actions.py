"""Printing leaves a line; blanks take their numbers before their containers come."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.labels.models import LabelPrint, Printed
from labstock.people.models import User
from labstock.stock.actions.receiving import reserve_numbers
from labstock.stock.codes import make_code, split_code
from labstock.writing import writing

MOST_BLANKS = 500


def log_prints(
    *,
    by: User,
    codes: Sequence[str],
    paper: str,
    what: str = Printed.CONTAINER,
    is_full: bool = False,
    key: UUID | None = None,
    at: datetime | None = None,
) -> None:
    """Write down that labels were made for printing: one line for each code."""
    at = at or timezone.now()
    with writing():
        LabelPrint.objects.bulk_create(
            [
                LabelPrint(what=what, code=code, paper=paper, is_full=is_full, key=key, by=by, at=at)
                for code in codes
            ],
        )


def print_blanks(*, by: User, count: int, paper: str, key: UUID) -> list[int]:
    """Reserve numbers for containers that are still to come; sending it twice gives the same ones."""
    if not 1 <= count <= MOST_BLANKS:
        raise LabError(
            "blank-count",
            "{count} blank labels cannot be printed at once: give 1 to {most}.",
            count=count,
            most=MOST_BLANKS,
        )
    with writing():
        done = (
            LabelPrint.objects.filter(key=key, what=Printed.BLANK)
            .order_by("id")
            .values_list("code", flat=True)
        )
        if done and len(done) != count:
            raise LabError(
                "blanks-printed",
                "This page already printed {done} blank labels. Open it anew to print {count} others, or give {done} "
                "to print the same ones again.",
                done=len(done),
                count=count,
            )
        if done:
            return [split_code(code)[1] for code in done]
        numbers = reserve_numbers(count)
        codes = [make_code(settings.LABSTOCK_CODE_PREFIX, number) for number in numbers]
        log_prints(by=by, codes=codes, paper=paper, what=Printed.BLANK, key=key)
        return numbers
