"""Four ways to scan, one landing: typed, by a handheld scanner, by a photograph, by live video."""

from typing import Any

from django.contrib import messages
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from labstock.bench.landing import Landing, land, land_all
from labstock.bench.photo_upload import photo_in, takes_photo
from labstock.bench.views.finding import not_found
from labstock.bench.views.performing import person_of
from labstock.bench.views.tablet import take_badge
from labstock.bench.walking import way_back
from labstock.chemistry.errors import LabError
from labstock.labels.reading import read_photo
from labstock.people.roles import Act, requires

FRAME_MOST_BYTES, FRAME_MOST_PIXELS = 1_000_000, 2_000_000
# four frames a second and a hair, so that a browser's clock that runs fast is not turned away
SECONDS_BETWEEN_FRAMES = 0.2


@requires(Act.SEE)
def scan(request: HttpRequest) -> HttpResponse:
    """Show the ways to scan, or go where the code leads."""
    typed = request.GET.get("code")
    if typed is None:
        return show_scan(request)
    return scanned(request, typed)


def scanned(request: HttpRequest, text: str) -> HttpResponse:
    """Go where a code leads, and say what to know before; or say which mistake it was."""
    try:
        return go_to(request, land(text, person_of(request)))
    except LabError as error:
        return with_camera(not_found(request, text, error))


def go_to(request: HttpRequest, landing: Landing) -> HttpResponse:
    """Redirect to a landing; a badge is kept for the page that asks who is there."""
    if landing.badge is not None:
        take_badge(request, landing.badge)
    if landing.note:
        messages.warning(request, landing.note)
    return redirect(landing.url)


@requires(Act.SEE)
def short_address(request: HttpRequest, letter: str, code: str) -> HttpResponse:
    """Answer the addresses on labels of samples, places, people and batches."""
    if letter in "LS" and (address := way_back(request, code)):
        return redirect(address)
    return scanned(request, f"https://label/{letter}/{code}")


@takes_photo()
@requires(Act.SEE)
def photo(request: HttpRequest) -> HttpResponse:
    """Read every code in a photograph: one leads on, several are listed with their vessels."""
    if request.method != "POST":
        return redirect("scan")
    try:
        texts = [code.text for code in read_photo(photo_in(request))]
    except LabError as error:
        return show_scan(request, status=422, error=error, error_word="No code could be read")
    if len(texts) == 1:
        return scanned(request, texts[0])
    page = {"rows": land_all(texts, person_of(request))}
    return render(request, "bench/photo.html", page)


@takes_photo(FRAME_MOST_BYTES)
@require_POST
@requires(Act.SEE)
def frame(request: HttpRequest) -> HttpResponseBase:
    """Read one frame of live video: where its code leads, or that there is none yet."""
    if not cache.add(f"frame-{person_of(request).pk}", True, SECONDS_BETWEEN_FRAMES):
        return JsonResponse({"said": ""}, status=429)
    try:
        text = read_photo(photo_in(request), FRAME_MOST_BYTES, FRAME_MOST_PIXELS, is_still=False)[0].text
    except LabError as error:
        is_waiting = error.code == "photo-without-code"
        return JsonResponse({"said": "" if is_waiting else error.message}, status=200 if is_waiting else 422)
    return JsonResponse({"code": text})


def show_scan(request: HttpRequest, status: int = 200, **page: Any) -> HttpResponse:
    """Render the page with its ways to scan."""
    return with_camera(render(request, "bench/scan.html", page, status=status))


def with_camera(response: HttpResponse) -> HttpResponse:
    """Let this page, and no other, ask for the camera."""
    response["Permissions-Policy"] = "camera=(self), microphone=(), geolocation=()"
    return response
