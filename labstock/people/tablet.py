"""A browser that several people share: marked by a signed cookie, locked after two minutes without anybody."""

import time
from collections.abc import Callable
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

COOKIE = "tablet"
SALT = "labstock.people.tablet"
YEAR_SECONDS = 365 * 24 * 60 * 60
LOCK_AFTER_SECONDS = 120
# The session is written at most this often while somebody works.
NOTE_EVERY_SECONDS = 5
SEEN = "tablet seen"
# What a page adds to its address when it asks by itself, without anybody there.
IDLE = "idle"
LOCKED = "The tablet was locked after {minutes} minutes without anybody. What was just sent was not recorded: scan your badge and enter it again."


def tablet_name(request: HttpRequest) -> str:
    """Return what this shared browser is called; empty for a browser of one's own."""
    return str(request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=YEAR_SECONDS))


def seconds_to_lock(request: HttpRequest) -> int:
    """Return how long this page may stay open untouched [s]."""
    since = time.time() - request.session.get(SEEN, time.time())
    return max(1, round(LOCK_AFTER_SECONDS - since))


def mark(response: HttpResponseBase, name: str) -> None:
    """Mark a browser as shared."""
    response.set_signed_cookie(
        COOKIE,
        name,
        salt=SALT,
        max_age=YEAR_SECONDS,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def unmark(response: HttpResponseBase) -> None:
    """Let a browser be one person's again."""
    response.delete_cookie(COOKIE, samesite="Lax")


class TabletMiddleware:
    """Locks a shared browser when nobody has used it for two minutes, whatever runs in it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if tablet_name(request) and request.user.is_authenticated:
            now = time.time()
            seen = request.session.get(SEEN, 0.0)
            if seen and now - seen > LOCK_AFTER_SECONDS:
                if request.path != reverse("tablet-badge"):
                    return lock(request)
                logout(request)  # the next person's badge is let through, as from a locked screen
                return self.get_response(request)
            if now - seen > NOTE_EVERY_SECONDS and IDLE not in request.GET:
                request.session[SEEN] = now
        return self.get_response(request)


def lock(request: HttpRequest) -> HttpResponseBase:
    """Log out and wait for the next badge, on the page that was open."""
    is_sent = request.method not in ("GET", "HEAD")
    logout(request)
    if is_sent:
        messages.warning(request, LOCKED.format(minutes=LOCK_AFTER_SECONDS // 60))
        return redirect("tablet")
    return redirect(f"{reverse('tablet')}?{urlencode({'next': request.get_full_path()})}")
