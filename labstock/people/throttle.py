"""Wrong passwords: whose they are counted against, and what the person is told when the door is shut."""

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def client_address(request: HttpRequest) -> str:
    """Return the address tries are counted by.

    What a browser says of itself in X-Forwarded-For is believed only behind our own proxy, and of that
    only the last part, which the proxy wrote.
    """
    if settings.BEHIND_PROXY:
        forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")[-1].strip()
        if forwarded:
            return str(forwarded)
    return str(request.META.get("REMOTE_ADDR", ""))


def locked_out(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
    """Say how long the name is shut and what helps meanwhile."""
    minutes = round(timedelta(hours=settings.AXES_COOLOFF_TIME).total_seconds() / 60)
    page = {"minutes": minutes, "tries": settings.AXES_FAILURE_LIMIT}
    response = render(request, "people/locked_out.html", page, status=429)
    response["Retry-After"] = str(minutes * 60)
    return response
