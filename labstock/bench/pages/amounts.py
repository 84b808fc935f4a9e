"""Amounts as a container's page says them."""

from decimal import ROUND_FLOOR, Decimal

from labstock.chemistry.display import MINUS, show_number, with_unit
from labstock.look.drawing.strokes import decimals_for
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION

DECIMALS_OF_EXACT = {"piece": 0}


def decimals_of(container: Container) -> int:
    """Return how many decimals the doubt on what is left leaves standing."""
    u = container.doubt.u
    return decimals_for(u) if u > 0 else DECIMALS_OF_EXACT.get(container.unit, 2)


def plain(amount: float, decimals: int) -> str:
    """Write an amount without unit, with a true minus."""
    return f"{amount:.{decimals}f}".replace("-", MINUS)


def short(amount: float, decimals: int) -> str:
    """Write an amount in a line of words, without zeros that say nothing: 12.00 held is 12 held."""
    text = plain(amount, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def rounded_down(amount: float, decimals: int) -> str:
    """Write what may be taken: 37.56 is 37.5, never 37.6."""
    step = Decimal(1).scaleb(-decimals)
    # a hair is added so that 37.5 stored as 37.499999999 stays 37.5
    return str((Decimal(repr(amount)) + Decimal("1e-9")).quantize(step, rounding=ROUND_FLOOR))


def left_words(container: Container) -> str:
    """Write what is left with its doubt: 48.0 ± 2.5 mL."""
    return with_unit(show_number(container.amount, container.doubt.u), container.unit)


def exactly(millionths: int) -> str:
    """Write a ledger amount to the last digit, for a field: 53040000 is 53.04."""
    return (
        f"{Decimal(millionths) / MILLION:f}".rstrip("0").rstrip(".")
        if millionths % MILLION
        else str(millionths // MILLION)
    )


def tied(amount: str, unit: str) -> str:
    """Tie a number to its unit; pieces get their plural."""
    return with_unit(amount, unit)
