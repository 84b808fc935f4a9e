"""From whatever was typed or scanned to a container, or to words that say which kind of mistake it was."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from labstock.bench.landing import existing, find_typed
from labstock.chemistry.errors import LabError
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION


def at_container(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Hand a view its container; send other spellings of a code to the one on the label."""

    @wraps(view)
    def found(request: HttpRequest, code: str, **kwargs: Any) -> HttpResponseBase:
        try:
            container = find_typed(code, is_shown=request.method != "POST")
        except LabError as error:
            return not_found(request, code, error)
        match = request.resolver_match
        if container.code != code and request.method in ("GET", "HEAD") and match is not None:
            return redirect(match.view_name, code=container.code, **kwargs)
        return view(request, container, **kwargs)

    return found


def not_found(request: HttpRequest, typed: str, error: LabError) -> HttpResponse:
    """Say which kind of mistake it was, offer what exists, keep what was typed."""
    known = Container.objects.filter(code__in=existing(error)).select_related("substance", "location")
    readings = error.parts.get("readings", ())
    words = {reading.code: reading.words for reading in readings} if isinstance(readings, tuple) else {}
    meant = [(container, container.capacity / MILLION, words.get(container.code, "")) for container in known]
    page = {"typed": typed, "error": error, "meant": meant}
    return render(request, "bench/scan.html", page, status=404)
