"""The screen under a fixed scanner: every scan is one step, each confirmed in large words."""

from dataclasses import replace

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from labstock.bench.hands_free import (
    OVER_AFTER_SECONDS,
    Step,
    facts,
    keep_step,
    show_bottle,
    step_of,
    take,
    undo,
)
from labstock.bench.landing import Landing, find_typed, land
from labstock.bench.views.performing import person_of
from labstock.bench.views.tablet import become, take_badge
from labstock.chemistry.errors import LabError
from labstock.labels.codes_read import AMOUNTS
from labstock.people.roles import Act, needs_pin, requires
from labstock.people.tablet import IDLE
from labstock.stock.models.container import MILLION

NOT_HERE = "This is the code of a {kind}. Here only bottles, amount cards, “undo” and badges are scanned."


@requires(Act.DRAW)
@never_cache
def hands_free(request: HttpRequest) -> HttpResponse:
    """Show the step, or take the next scan."""
    step = step_of(request)
    if request.method == "POST":
        try:
            landing = land(request.POST.get("code", ""), person_of(request))
            if landing.badge is not None:
                return _switch(request, landing)
            keep_step(request, _next(request, step, landing))
        except LabError as error:
            keep_step(request, replace(step, refused=error.message, said="", warned=""))
        return redirect("hands-free")
    page = {"step": step, "amounts": AMOUNTS.values(), "minute": OVER_AFTER_SECONDS}
    if step.bottle:
        container = find_typed(step.bottle)
        page |= facts(container) | {"capacity": container.capacity / MILLION}
    response = render(request, "bench/hands_free.html", page)
    if step != Step():
        response["Refresh"] = f"{OVER_AFTER_SECONDS + 1}; url={reverse('hands-free')}?{IDLE}"
    return response


def _next(request: HttpRequest, step: Step, landing: Landing) -> Step:
    if landing.container is not None:
        return show_bottle(landing.container)
    if landing.kind == "amount":
        return take(request, step, landing.value, person_of(request))
    if landing.kind == "act" and landing.value == "undo":
        return undo(step, person_of(request))
    raise LabError("not-here", NOT_HERE, kind=landing.kind)


def _switch(request: HttpRequest, landing: Landing) -> HttpResponse:
    """Let the next person come; whoever needs a PIN types it on the tablet's page."""
    badge = landing.badge
    assert badge is not None
    take_badge(request, badge)
    if needs_pin(badge.person):
        return redirect(f"{reverse('tablet')}?next={reverse('hands-free')}")
    become(request, badge.person)
    return redirect("hands-free")
