"""The shared tablet: marking a browser, switching the person by badge, locking it; and one's own badge and PIN."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from labstock.bench.forms_tablet import PinForm, TabletForm
from labstock.bench.pages.badge import badge_page, read_badge
from labstock.bench.views.performing import person_of
from labstock.chemistry.errors import LabError
from labstock.people import badges
from labstock.people.models import Badge, User
from labstock.people.roles import Act, may, needs_pin, requires
from labstock.people.tablet import mark, tablet_name, unmark

BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING = "badge waiting"


def take_badge(request: HttpRequest, badge: Badge) -> None:
    """Keep a badge that was scanned into an address until its person is confirmed; refuse it elsewhere."""
    if not tablet_name(request):
        raise LabError(
            "not-shared",
            "This is the badge of {name}. A badge switches the person on a shared tablet only, and this browser is not "
            "marked as one. Log in with the password here, or let a steward mark it on the page “Shared tablet”.",
            name=badge.person,
        )
    request.session[WAITING] = badge.pk


@login_not_required
@never_cache
@require_GET
def tablet(request: HttpRequest) -> HttpResponse:
    """Wait for a badge; let a steward mark or unmark the browser."""
    return show_tablet(request)


@login_not_required
@never_cache
@require_POST
def switch(request: HttpRequest) -> HttpResponse:
    """Become the person of the badge, with the PIN where the role can do harm."""
    person = None
    try:
        if not tablet_name(request):
            raise LabError(
                "not-shared", "This browser is not marked as shared, so a badge opens nothing here."
            )
        person = read_badge(request.POST.get("badge", ""), request.session.get(WAITING))
        if needs_pin(person) and not request.POST.get("pin"):
            request.session[WAITING] = person.badges.get(revoked_at=None).pk
            return show_tablet(request, waiting=person)
        badges.check_pin(person=person, pin=request.POST.get("pin", ""))
    except LabError as error:
        return show_tablet(request, waiting=person, error=error, status=422)
    become(request, person)
    return redirect(_next(request))


def become(request: HttpRequest, person: User) -> None:
    """Let a person record from now on; nothing of the one before stays in the session."""
    logout(request)
    login(request, person, backend=BACKEND)
    messages.success(request, f"{person} records from now on.")


@requires(Act.SEE)
@require_POST
def lock_now(request: HttpRequest) -> HttpResponse:
    """Leave the tablet to the next person."""
    logout(request)
    return redirect("tablet")


@requires(Act.SEE)
@never_cache
@require_GET
def awake(request: HttpRequest) -> HttpResponse:
    """Say that somebody is typing, so that a long entry is not locked away from under their hands."""
    return HttpResponse("awake", content_type="text/plain")


@requires(Act.PEOPLE)
@require_POST
def mark_browser(request: HttpRequest) -> HttpResponse:
    """Mark this browser as shared under a name, or let it be one person's again."""
    if "unmark" in request.POST:
        response = redirect("tablet")
        unmark(response)
        messages.success(request, "This browser is no longer shared: badges open nothing here any more.")
        return response
    form = TabletForm(request.POST)
    if not form.is_valid():
        return show_tablet(request, form=form, status=422)
    name = form.cleaned_data["name"]
    messages.success(request, f"This browser is the shared tablet “{name}” now: scan a badge to switch.")
    response = redirect("tablet")
    mark(response, name)
    return response


def show_tablet(
    request: HttpRequest, waiting: User | None = None, status: int = 200, **page: Any
) -> HttpResponse:
    """Render the page that waits for a badge."""
    if waiting is None and WAITING in request.session:
        badge = (
            Badge.objects.filter(pk=request.session[WAITING], revoked_at=None)
            .select_related("person")
            .first()
        )
        waiting = badge.person if badge else None
    page = {
        "form": TabletForm(),
        "name": tablet_name(request),
        "waiting": waiting,
        "needs_pin": waiting is not None and needs_pin(waiting),
        "next": _next(request),
        "may_mark": may(request.user, Act.PEOPLE),
    } | page
    return render(request, "bench/tablet.html", page, status=status)


def _next(request: HttpRequest) -> str:
    """Return where to go afterwards: the page that was open, if it is one of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if is_ours and not wanted.startswith(reverse("tablet")) else reverse("front")


@requires(Act.SEE)
@never_cache
@require_GET
def badge(request: HttpRequest) -> HttpResponse:
    """Show one's badge to print, and set the PIN."""
    return render(request, "bench/badge.html", {"page": badge_page(person_of(request)), "form": PinForm()})


@requires(Act.SEE)
@require_POST
def badge_new(request: HttpRequest) -> HttpResponse:
    """Draw a new badge for oneself."""
    badges.make_badge(by=person_of(request), person=person_of(request))
    messages.success(
        request, "Your new badge is made; the one before opens nothing any more. Print it and wear it."
    )
    return redirect("badge")


@requires(Act.SEE)
@require_POST
def pin_set(request: HttpRequest) -> HttpResponse:
    """Set one's own PIN."""
    form = PinForm(request.POST)
    if form.is_valid():
        try:
            badges.set_pin(person=person_of(request), **form.cleaned_data)
            messages.success(request, "Your PIN is set: with it your badge opens a shared tablet.")
            return redirect("badge")
        except LabError as error:
            form.add_error("password" if error.code == "wrong-password" else "pin", error.message)
    page = {"page": badge_page(person_of(request)), "form": form}
    return render(request, "bench/badge.html", page, status=422)
