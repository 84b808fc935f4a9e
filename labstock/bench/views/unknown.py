"""The board of unknown bottles: log one, see what it might be, let a steward say what it is."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from labstock.bench.forms_trouble import ClaimForm, UnknownForm
from labstock.bench.pages.unknown import board, find_page
from labstock.bench.pages.who import to_ring
from labstock.bench.photo_upload import takes_photo, was_too_large
from labstock.bench.views.performing import person_of
from labstock.chemistry.errors import LabError
from labstock.labels.reading import too_large
from labstock.people.roles import Act, requires
from labstock.stock.actions.unknown import claim_unknown, log_unknown
from labstock.stock.codes import show_code
from labstock.stock.models import UnknownFind
from labstock.stock.photos import MOST_BYTES, path_of


@requires(Act.SEE)
def finds(request: HttpRequest) -> HttpResponse:
    """List every unknown bottle, those without a name first."""
    return render(request, "bench/unknown_list.html", {"board": board(), "ring": to_ring()})


@takes_photo(MOST_BYTES)
@requires(Act.DRAW)
def log(request: HttpRequest) -> HttpResponse:
    """Log one: place, size, appearance, photo; it is blocked at once."""
    form = UnknownForm(
        request.POST or None, request.FILES or None, initial={"place": request.GET.get("place", "")}
    )
    if was_too_large(request):
        form.add_error("photo", f"{too_large(MOST_BYTES).message} Or leave it out.")
    elif form.is_bound and form.is_valid():
        try:
            found = log_unknown(find=form.find(), doing=form.doing(person_of(request)))
        except LabError as error:
            form.add_error(None, error.message)
        else:
            messages.success(request, f"{show_code(found.container.code)} is on the board, and blocked.")
            return redirect("unknown", pk=found.pk)
    page = {"form": form, "ring": to_ring()}
    return render(request, "bench/unknown_log.html", page, status=422 if form.is_bound else 200)


@requires(Act.SEE)
def find(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one with what to do and not to do, and what it might be."""
    return _show(request, _get(pk), ClaimForm())


@requires(Act.CORRECT)
def claim(request: HttpRequest, pk: int) -> HttpResponse:
    """Say which missing container it is, and why."""
    found = _get(pk)
    if request.method != "POST":
        return redirect("unknown", pk=pk)
    form = ClaimForm(request.POST)
    if form.is_valid():
        try:
            said = claim_unknown(find=found, container=form.claimed(), doing=form.doing(person_of(request)))
        except LabError as error:
            form.add_error(None, error.message)
        else:
            messages.success(request, "Claimed. Print its label, put it on, then free it.")
            return redirect("container", code=said.container.code)
    return _show(request, found, form, status=422)


@requires(Act.SEE)
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand the photo to whoever is logged in; no server in front of us serves it by itself."""
    found = _get(pk)
    path = path_of(found.photo)
    if not found.photo or not path.is_file():
        raise Http404("There is no photo of this bottle.")
    return HttpResponse(path.read_bytes(), content_type="image/jpeg")


def _get(pk: int) -> UnknownFind:
    rows = UnknownFind.objects.select_related(
        "container__location__parent", "by", "claim__container", "claim__by"
    )
    return get_object_or_404(rows, pk=pk)


def _show(request: HttpRequest, found: UnknownFind, form: ClaimForm, status: int = 200) -> HttpResponse:
    page = {"page": find_page(found), "form": form, "ring": to_ring()}
    return render(request, "bench/unknown.html", page, status=status)
