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
    figure_in,
    keep_step,
    step_of,
    take_act,
    take_amount,
    take_bottle,
)
from labstock.bench.landing import Landing, find_typed, land
from labstock.bench.views.performing import person_of
from labstock.bench.views.tablet import become, take_badge
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, needs_pin, requires
from labstock.people.tablet import IDLE

NOT_HERE = "This is the code of a {kind}. Here only bottles, cards and badges are scanned."
WAITS = "{total} of {bottle} waits for “done”: scan “done” or “undo” before the next person’s badge."


@requires(Act.DRAW)
@never_cache
def hands_free(request: HttpRequest) -> HttpResponse:
    """Show the step, or take the next scan."""
    step = step_of(request)
    if request.method == "POST":
        try:
            landing = _land(request, step)
            if landing.badge is not None:
                return _switch(request, landing, step)
            keep_step(request, _next(request, step, landing))
        except LabError as error:
            keep_step(request, replace(step, refused=error.message, said="", warned=""))
        return redirect("hands-free")
    page = {"step": step, "minute": OVER_AFTER_SECONDS, "start": f"{reverse('hands-free')}?{IDLE}"}
    if step.bottle:
        page |= facts(find_typed(step.bottle))
    response = render(request, "bench/hands_free.html", page)
    if step != Step():
        response["Refresh"] = f"{OVER_AFTER_SECONDS + 1}; url={reverse('hands-free')}?{IDLE}"
    return response


def _land(request: HttpRequest, step: Step) -> Landing:
    """Return where a code leads, or the amount where a balance typed a figure."""
    text = request.POST.get("code", "")
    try:
        return land(text, person_of(request))
    except LabError:
        figure = figure_in(text, step)
        if not figure:
            raise
        return Landing("amount", figure, reverse("hands-free"), value=figure)


def _next(request: HttpRequest, step: Step, landing: Landing) -> Step:
    if landing.container is not None:
        return take_bottle(request, step, landing.container, person_of(request))
    if landing.kind == "amount":
        return take_amount(step, landing.value)
    if landing.kind == "act":
        return take_act(request, step, landing.value, person_of(request))
    raise LabError("not-here", NOT_HERE, kind=landing.kind)


def _switch(request: HttpRequest, landing: Landing, step: Step) -> HttpResponse:
    """Let the next person come; whoever needs a PIN types it on the tablet's page."""
    badge = landing.badge
    assert badge is not None
    if step.is_open and step.amounts:
        raise LabError("waits", WAITS, total=step.total, bottle=step.bottle)
    take_badge(request, badge)
    if needs_pin(badge.person):
        return redirect(f"{reverse('tablet')}?next={reverse('hands-free')}")
    become(request, badge.person)
    return redirect("hands-free")
