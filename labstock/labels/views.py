"""Labels to choose, to look at, and to print."""

from collections.abc import Callable, Generator, Iterator
from functools import partial
from typing import get_args

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from labstock.chemistry.errors import LabError
from labstock.labels.actions import log_prints
from labstock.labels.content import Kind
from labstock.labels.contents import content_of
from labstock.labels.forms import LabelForm
from labstock.labels.layout import draw_label
from labstock.labels.pages import as_boxes, contents_for, label_page
from labstock.labels.papers import ONE_PER_PAGE
from labstock.labels.queries import find_containers
from labstock.labels.sheets import Drawn, draw_pages, render_selection
from labstock.people.roles import Act, requires
from labstock.stock.codes import show_code
from labstock.stock.views.acting import person_of

read_or_send = require_http_methods(["GET", "HEAD", "POST"])  # a POST holds 1,000 codes
# A browser that sends this is told of every page as it is drawn.
TELLS = "Tell-Pages"
# Packed, the lines would be held back until the last one.
AS_IT_COMES = {
    "Content-Type": "application/octet-stream",
    "Content-Encoding": "identity",
    "X-Accel-Buffering": "no",
}


@requires(Act.SEE)
@read_or_send
def label_sheet(request: HttpRequest) -> HttpResponse:
    """Choose containers and paper, and see the labels before they are printed."""
    return _show(request, LabelForm(request.POST or request.GET or None))


@requires(Act.SEE)
@read_or_send
def label_print(request: HttpRequest) -> HttpResponseBase:
    """Print what was chosen; what cannot be printed comes back to the page with the reason."""
    form = LabelForm(request.POST or request.GET)
    if not form.is_valid():
        return _show(request, form)
    said = form.cleaned_data
    try:
        contents = contents_for(form, person_of(request).short_name)
        chosen = (contents, said["size"], said["start"], said["is_coloured"])
        if TELLS in request.headers:
            log = partial(_log_form, request, form)
            return StreamingHttpResponse(_told(draw_pages(*chosen), log), headers=AS_IT_COMES)
        file = render_selection(*chosen)
    except LabError as error:
        form.add_error(None, error.message)
        return _show(request, form)
    _log_form(request, form)
    return pdf(file, f"labels-{len(contents)}.pdf")


def _told(drawing: Generator[Drawn, None, bytes], log: Callable[[], None]) -> Iterator[bytes]:
    """Send a line for each page that is drawn, then the file; for a refusal, "no" and no file.

    The page then sends its form in the plain way and is shown the reason.
    """
    try:
        while True:
            page = next(drawing)
            yield f"{page.page} {page.pages}\n".encode()
    except LabError:
        yield b"no\n"
    except StopIteration as end:
        log()
        yield b"file\n" + end.value


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
        content = content_of(containers[0], kind, is_full=request.GET.get("full") == "yes")
        file = render_selection([content], ONE_PER_PAGE if kind or not size else size)
    except LabError as error:
        form = LabelForm(request.GET)
        form.is_valid()
        form.add_error(None, error.message)
        return _show(request, form)
    if unprinted := draw_label(content).unprinted:  # the file opens beside the site: the next page says it
        messages.warning(request, f"{show_code(content.code)}: {as_boxes(unprinted)}")
    _log(request, codes=[content.code], paper=size or content.kind)
    return pdf(file, f"label-{content.code}.pdf")


def _log_form(request: HttpRequest, form: LabelForm) -> None:
    codes = [container.code for container in form.containers]
    _log(request, codes=codes, paper=form.cleaned_data["size"], is_full=form.cleaned_data["is_full"])


def _log(request: HttpRequest, *, codes: list[str], paper: str, is_full: bool = False) -> None:
    """A label that was sent counts as printed, by link or by form; a browser that asks for the head gets none."""
    if request.method != "HEAD":
        log_prints(by=person_of(request), codes=codes, paper=paper, is_full=is_full)


def _show(request: HttpRequest, form: LabelForm) -> HttpResponse:
    page = label_page(form, person_of(request).short_name)
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "labels/labels.html", {"page": page, "form": form}, status=status)


def pdf(file: bytes, name: str) -> HttpResponse:
    """Answer with a file that opens in the browser."""
    return HttpResponse(
        file, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
