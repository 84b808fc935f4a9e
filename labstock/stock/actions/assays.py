"""Measured strengths."""

from datetime import date
from typing import Any

from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing, lock
from labstock.stock.codes import show_code
from labstock.stock.models import Assay, Container, State
from labstock.writing import writing

MOST_PERCENT = 105.0


def record_assay(
    *, container: Container, percent: float, expanded: float, method: str, measured_on: date, doing: Doing
) -> Assay:
    """Write down how much of the substance was found; entering the same measurement twice makes one."""
    _check_numbers(percent, expanded)
    today = timezone.localdate(doing.at)
    if measured_on > today:
        raise LabError(
            "in-the-future",
            "{on:%d %b %Y} is still to come: give the day it was measured.",
            on=measured_on,
        )
    with writing():
        locked = lock(container)
        if measured_on < locked.received_on:
            raise LabError(
                "before-it-came",
                "{code} came on {received:%d %b %Y}, after {on:%d %b %Y}: check the day; an older measurement belongs "
                "to the lot.",
                code=show_code(locked.code),
                received=locked.received_on,
                on=measured_on,
            )
        if locked.state == State.DISPOSED:
            raise LabError(
                "disposed",
                "{code} was disposed of: check the code on the tube you measured.",
                code=show_code(locked.code),
            )
        same: dict[str, Any] = {
            "percent": percent,
            "u_percent": expanded / 2,
            "method": method.strip(),
            "measured_on": measured_on,
        }
        return Assay.objects.get_or_create(container=locked, by=doing.by, **same)[0]


def _check_numbers(percent: float, expanded: float) -> None:
    if not 0 < percent <= MOST_PERCENT:
        raise LabError(
            "bad-percent",
            "{percent:g} % cannot be: a mass fraction lies above 0 and, with its doubt, not over {most:g} %.",
            percent=percent,
            most=MOST_PERCENT,
        )
    if not 0 < expanded <= 50:
        raise LabError(
            "bad-doubt",
            "± {expanded:g} % cannot be: give the expanded uncertainty (k = 2), above 0 and not over 50; "
            "no measurement is without doubt.",
            expanded=expanded,
        )
