"""What a few typed words at the front door mean: a container, a substance, an equation, an amount, a title."""

import re
from dataclasses import dataclass

from django.conf import settings

from batches.drafts import ARROW, substance_called
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.stock.codes import read_code, show_code
from labstock.stock.models import Container, Substance
from labstock.stock.queries import get_container
from labstock.stock.search_text import normalised
from labstock.stock.word_index import holding

CODE = re.compile(r"[A-Za-z]{1,3}[\s-]?\d{3,9}[\s-]?\w?")
AMOUNT_FIRST = re.compile(r"(?P<amount>[\d.,]+\s*[^\s\d,]+)\s+(?:of\s+)?(?P<what>.+)")
AMOUNT_LAST = re.compile(r"(?P<what>.+?),?\s+(?P<amount>[\d.,]+\s*[^\s\d,]+)")
MOST_NAMED = 6


@dataclass(frozen=True)
class Wanted:
    """What an amount is wanted of: one container, or any of a substance."""

    substance: Substance | None = None
    container: Container | None = None

    @property
    def name(self) -> str:
        """Return it in words."""
        return self.container.name if self.container else str(self.substance)


def find_wanted(text: str) -> Wanted:
    """Return the container or the substance that a text names; where several fit, they are named and none is taken."""
    text = text.strip()
    substance = substance_called(text)
    if substance is not None:
        return Wanted(substance)
    if CODE.fullmatch(text) or "/C/" in text.upper():
        container = get_container(read_code(text, settings.LABSTOCK_CODE_PREFIX))
        return Wanted(container.substance, container)
    words = normalised(text).split()
    found = holding(Substance.objects.order_by("name"), words).rows
    rows = list(found[: MOST_NAMED + 1]) if words else []
    if len(rows) == 1:
        return Wanted(rows[0])
    raise _not_one(text, [row.name for row in rows])


def _not_one(text: str, names: list[str]) -> LabError:
    if names:
        more = " and more" if len(names) > MOST_NAMED else ""
        return LabError(
            "several",
            "'{text}' may be {names}{more}: write the whole name.",
            text=text,
            names=", ".join(names[:MOST_NAMED]),
            more=more,
        )
    return LabError(
        "unknown-substance",
        "'{text}' is neither a name on the substance list nor a code like {like}: check the spelling, "
        "or have it added to the list.",
        text=text,
        like=show_code(settings.LABSTOCK_CODE_PREFIX + "4817K"),
    )


@dataclass(frozen=True)
class Asked:
    """What the front page's few words fill in; nothing of it is held before the person says so."""

    title: str = ""
    equation: str = ""
    scale: str = ""
    what: str = ""
    amount: str = ""


def understand(text: str) -> Asked:
    """Sort a few words: "12 mL acetic anhydride" is an amount to hold, "acetanilide, 60 mmol" a preparation.

    An arrow makes an equation; anything else is a title.
    """
    text = text.strip()[:300]
    if ARROW.search(text):
        return Asked(equation=text)
    first, last = AMOUNT_FIRST.fullmatch(text), AMOUNT_LAST.fullmatch(text)
    if first and _is_amount(first["amount"]):
        return Asked(what=first["what"], amount=first["amount"])
    if last and _is_amount(last["amount"]):
        return Asked(title=last["what"], scale=last["amount"])
    if CODE.fullmatch(text):
        return Asked(what=text)
    return Asked(title=text[:120])


def _is_amount(text: str) -> bool:
    try:
        parse_quantity(text)
    except LabError:
        return False
    return True
