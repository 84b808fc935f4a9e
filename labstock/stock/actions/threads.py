"""Writing down what went from one container into another."""

from datetime import date

from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Lineage, Trouble, Went
from labstock.stock.signs import doubt_on


def tie(*, parent: Container, child: Container, what: Went, entry: Entry, doing: Doing) -> Lineage:
    """Keep that the amount of a ledger line went into another container."""
    return Lineage.objects.create(
        parent=parent, child=child, what=what, amount=-entry.change, entry=entry, by=doing.by, at=doing.at
    )


def earliest(*days: date | None) -> date | None:
    """Return the earliest of the days that there are."""
    return min((day for day in days if day is not None), default=None)


def check_strength_known(container: Container) -> None:
    """Refuse what counts on a strength that somebody's nose or eyes put in doubt."""
    sign = doubt_on(container)
    if sign is None:
        return
    raise LabError(
        "strength-in-doubt",
        "The strength of {code} is in doubt ({sign}, {at:%d %b %Y}): nothing is counted on it until it is assayed. "
        "Enter an assay, or take another container.",
        code=show_code(container.code),
        sign=Trouble(sign.what).label,
        at=sign.at,
    )
