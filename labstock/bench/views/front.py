"""The front page: three doors, today, what needs a look."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from labstock.bench.pages.front import front_page
from labstock.people.roles import Act, requires
from labstock.stock.actions.reservations import lapse_due


@requires(Act.SEE)
def front(request: HttpRequest) -> HttpResponse:
    """Show the three doors with their fields, today's sessions, and what needs a look."""
    now = timezone.now()
    lapse_due(at=now)
    return render(request, "bench/front.html", {"page": front_page(request.user, now)})  # type: ignore[arg-type]
