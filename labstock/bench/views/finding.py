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

# What sort of mistake it was, in words that are read from an arm's length.
MISTYPED = "Mistyped or misread"
HEADINGS = {
    "code-maker": "A maker’s bar code",
    "code-cas": "A CAS number, not a container",
    "code-address": "Somebody else’s address",
    "code-foreign": "Another lab’s code",
    "code-not-ours": "Not one of our codes",
    "code-empty": "Nothing was typed",
    "blank-unclaimed": "A blank label, not taken yet",
    "card-unknown": "No card of ours",
    "unknown-code": "No container has this code",
} | dict.fromkeys(
    (
        "code-look-alike",
        "code-swapped",
        "code-one-wrong",
        "code-too-long",
        "code-too-short",
        "code-wrong",
        "code-check",
    ),
    MISTYPED,
)


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
    page = {"typed": typed, "error": error, "error_word": HEADINGS.get(error.code), "meant": meant}
    return render(request, "bench/scan.html", page, status=404)
