"""How times, amounts and chances are said on the pages of plans and sessions."""

from datetime import datetime
from decimal import ROUND_FLOOR, Decimal

from django.utils import timezone

from labstock.chemistry.display import NO_BREAK, show, with_unit
from labstock.chemistry.remaining import words_for_probability
from labstock.look.drawing.strokes import decimals_for
from labstock.stock.models import Session
from labstock.stock.models.container import MILLION

NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def in_words(number: int) -> str:
    """Write a small number in words."""
    return NUMBERS[number] if number < len(NUMBERS) else str(number)


def clock_of(moment: datetime, beside: datetime | None = None) -> str:
    """Write a time of day; with its day where that is not the day beside it (today, where none is given)."""
    local = timezone.localtime(moment)
    day = timezone.localtime(beside or timezone.now()).date()
    words = f"{local:%H:%M}" if local.date() == day else f"{local:%a} {local.day} {local:%b} {local:%H:%M}"
    return words.replace(" ", NO_BREAK)


def span_of(session: Session) -> str:
    """Write a session's time without its zone: 11:00 – 13:00, with the day where it is not today."""
    return f"{clock_of(session.starts_at)} – {clock_of(session.ends_at, session.starts_at)}"


def held_words(millionths: int, unit: str) -> str:
    """Write a promised amount; it is exact, so it has no doubt."""
    return show(f"{Decimal(millionths) / MILLION:f}", unit)


def rounded_down(amount: float, u: float, unit: str) -> str:
    """Write what may be taken, never more than there is: 37.56 ± 2.4 may be taken as 37.5."""
    decimals = decimals_for(u) if u > 0 else 2
    # a hair is added so that 37.5 stored as 37.499999999 stays 37.5
    down = (Decimal(repr(amount)) + Decimal("1e-9")).quantize(Decimal(1).scaleb(-decimals), ROUND_FLOOR)
    return with_unit(f"{down:f}", unit)


def chance_number(p: float) -> str:
    """Write a chance in figures: > 99 %, 94 %, < 1 %."""
    if p > 0.99:
        return f">{NO_BREAK}99{NO_BREAK}%"
    return f"<{NO_BREAK}1{NO_BREAK}%" if p < 0.01 else f"{100 * p:.0f}{NO_BREAK}%"


def chance_words(p: float) -> str:
    """Say a chance in words: almost certainly, a coin toss."""
    return words_for_probability(min(max(p, 0.0), 1.0)).split(": ")[-1]
