"""Addresses that base.html links to, for tests of the look alone."""

from django.http import HttpRequest, HttpResponse
from django.urls import path

NAMES = (
    "front",
    "login",
    "logout",
    "plan-start",
    "scan",
    "sample-list",
    "container-list",
    "substance-list",
    "location-list",
    "session-list",
    "batch-list",
    "label-sheet",
    "container-receive",
    "offline-kept",
    "offline-send",
    "offline-worker",
    "offline-recorded",
    "difference-list",
)


def nothing(request: HttpRequest) -> HttpResponse:
    return HttpResponse("")


urlpatterns = [path(f"{name}/", nothing, name=name) for name in NAMES]
