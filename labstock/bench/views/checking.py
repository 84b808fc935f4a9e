"""Walking a place with a scanner: one code after the other, each answered at once."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from labstock.bench.landing import Landing, land
from labstock.bench.views.performing import person_of
from labstock.bench.views.scan import with_camera
from labstock.bench.walking import keep_walking, stop_walking
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.stock.actions.checking import sight
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Location, StockCheck
from labstock.stock.pages.check_walk import place_walked, walk_address, walk_page
from labstock.stock.queries_checks import is_in
from labstock.stock.views.checks import get_check

NOT_HERE = "This is the code of a {kind}. In a stock check only containers and places are scanned."
OUTSIDE = (
    "{place} is not inside {checked}. Begin a check of its own for it, or scan a shelf inside {checked}."
)


@requires(Act.COUNT)
@never_cache
def walk(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what the last scan came to and what is still to be seen."""
    stock_check = get_check(pk)
    if hasattr(stock_check, "end"):
        stop_walking(request)
        return redirect("check-result", pk=pk)
    last, at = request.GET.get("last", ""), place_walked(stock_check, request.GET.get("at", ""))
    keep_walking(request, stock_check, at)
    seen = int(last) if last.isascii() and last.isdigit() else 0
    page = walk_page(
        stock_check, at, last=seen, is_again="twice" in request.GET, typed=request.GET.get("typed", "")
    )
    return with_camera(render(request, "stock/check_walk.html", {"page": page}))


@requires(Act.COUNT)
@require_POST
def scan(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one scan: a container is here, or a shelf comes next."""
    stock_check, typed = get_check(pk), request.POST.get("code", "")
    at = place_walked(stock_check, request.POST.get("at", ""))
    try:
        return redirect(_scanned(request, stock_check, at, land(typed, person_of(request))))
    except LabError as error:
        page = walk_page(stock_check, at, error=error, typed=typed.strip())
        return with_camera(render(request, "stock/check_walk.html", {"page": page}, status=422))


def _scanned(request: HttpRequest, stock_check: StockCheck, at: Location | None, landing: Landing) -> str:
    """Return the address that says what the scan came to."""
    if landing.location is not None:
        return walk_address(stock_check, _shelf(stock_check, landing.location))
    if landing.container is None:
        raise LabError("not-here", NOT_HERE, kind=landing.kind)
    doing = Doing(by=person_of(request))
    made = sight(stock_check=stock_check, container=landing.container, place=at, doing=doing)
    return walk_address(stock_check, at, made.finding.pk, is_again=made.is_again)


def _shelf(stock_check: StockCheck, place: Location) -> Location:
    checked = stock_check.place
    if checked is not None and not is_in(place, checked):
        raise LabError("outside", OUTSIDE, place=place, checked=checked)
    return place
