"""Labels to choose, to look at, and to print."""

from typing import get_args

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from labstock.chemistry.errors import LabError
from labstock.labels.content import Kind
from labstock.labels.contents import content_of
from labstock.labels.forms import LabelForm
from labstock.labels.pages import label_page
from labstock.labels.queries import find_containers
from labstock.labels.sheets import ONE_PER_PAGE, render_selection
from labstock.people.roles import Act, requires

read_or_send = require_http_methods(["GET", "HEAD", "POST"])  # nothing is written; a POST holds 1,000 codes


@requires(Act.SEE)
@read_or_send
def label_sheet(request: HttpRequest) -> HttpResponse:
    """Choose containers and paper, and see the labels before they are printed."""
    return _show(request, LabelForm(request.POST or request.GET or None))


@requires(Act.SEE)
@read_or_send
def label_print(request: HttpRequest) -> HttpResponse:
    """Print what was chosen; what cannot be printed comes back to the page with the reason."""
    form = LabelForm(request.POST or request.GET)
    if not form.is_valid():
        return _show(request, form)
    said = form.cleaned_data
    try:
        contents = [content_of(container) for container in form.containers]
        file = render_selection(contents, said["size"], said["start"], said["is_coloured"])
    except LabError as error:
        form.add_error(None, error.message)
        return _show(request, form)
    return _pdf(file, f"labels-{len(contents)}.pdf")


@requires(Act.SEE)
@require_GET
def label_single(request: HttpRequest, code: str) -> HttpResponse:
    """Print one container's label: in its own kind, in the kind asked for, or on the sheet asked for."""
    size = request.GET.get("size", "")
    kind = next((kind for kind in get_args(Kind) if kind == size), None)
    try:
        containers, refusals = find_containers([code])
        if refusals:
            raise refusals[0]
        content = content_of(containers[0], kind)
        file = render_selection([content], ONE_PER_PAGE if kind or not size else size)
    except LabError as error:
        form = LabelForm(request.GET)
        form.is_valid()
        form.add_error(None, error.message)
        return _show(request, form)
    return _pdf(file, f"label-{content.code}.pdf")


def _show(request: HttpRequest, form: LabelForm) -> HttpResponse:
    page = label_page(form)
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "labels/labels.html", {"page": page, "form": form}, status=status)


def _pdf(file: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        file, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
