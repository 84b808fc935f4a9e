"""A stock check being walked in this browser: a label read by the phone's own camera leads back to it."""

import time

from django.http import HttpRequest

from labstock.stock.models import Location, StockCheck
from labstock.stock.pages.check_walk import walk_address

KEY = "walking"
# Who has not scanned for this long is doing something else.
OVER_AFTER_SECONDS = 600
WRITE_EVERY_SECONDS = 60


def keep_walking(request: HttpRequest, stock_check: StockCheck, at: Location | None) -> None:
    """Remember which check is walked and at which shelf; the session is written only now and then."""
    address = walk_address(stock_check, at)
    kept = request.session.get(KEY, {})
    if kept.get("address") != address or time.time() - kept.get("at", 0) > WRITE_EVERY_SECONDS:
        request.session[KEY] = {"address": address, "at": time.time()}


def way_back(request: HttpRequest, typed: str) -> str:
    """Return where a label read by the phone's own camera leads while a check is walked; empty where none is.

    The camera opens a page that no other page led to. The page of the bottle would tell what the book says is in it.
    """
    kept = request.session.get(KEY, {})
    is_fresh = time.time() - kept.get("at", 0) < OVER_AFTER_SECONDS
    if not is_fresh or "page" in request.GET or request.headers.get("Sec-Fetch-Site") != "none":
        return ""
    address = str(kept["address"])
    return f"{address}{'&' if '?' in address else '?'}typed={typed}"


def stop_walking(request: HttpRequest) -> None:
    """Forget the check: labels lead to their own pages again."""
    request.session.pop(KEY, None)
