"""Ledger amounts on a page."""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.safestring import SafeString

from labstock.chemistry.display import show
from labstock.look.words import with_doubt
from labstock.stock.models.container import MILLION
from labstock.stock.pages.proof import proof_of_now

register = template.Library()


@register.inclusion_tag("stock/proof.html")
def proof(on: str = "screen") -> dict[str, Any]:
    """Print the head of the whole ledger at the foot of a report; on "paper" it is only on the print-out."""
    return {"proof": proof_of_now(), "on": on}


@register.filter
def ledger_amount(millionths: int, unit: str) -> SafeString:
    """Write a ledger amount in its unit, to the last digit that says something: 6830000 is 6.83 mL."""
    exact = Decimal(millionths) / MILLION
    return with_doubt(show(exact.normalize() if exact % 1 else exact.quantize(Decimal(1)), unit))
