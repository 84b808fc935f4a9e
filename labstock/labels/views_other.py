"""Labels of what is no container: places, boxes, badges, cards, blanks."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from labstock.chemistry.errors import LabError
from labstock.labels.actions import log_prints, print_blanks
from labstock.labels.content import Printable
from labstock.labels.forms import OtherForm
from labstock.labels.making import badge_plate, blank_plate, box_of, card_plates, location_plate
from labstock.labels.models import Printed
from labstock.labels.pages_other import other_page
from labstock.labels.queries import contents_of_place
from labstock.labels.sheets import render_selection
from labstock.labels.views import pdf
from labstock.people.queries import badge_of
from labstock.people.roles import Act, requires
from labstock.stock.views.acting import person_of


@requires(Act.SEE)
@require_safe
def label_other(request: HttpRequest) -> HttpResponse:
    """Choose labels for places, boxes, blanks; print a card or one's badge."""
    return _show(request, OtherForm(box=request.GET.get("box", "")), 200)


@requires(Act.SEE)
@require_POST
def label_places(request: HttpRequest) -> HttpResponse:
    """Print the labels of the places that were ticked."""
    form = OtherForm(request.POST)
    if form.is_valid():
        plates = [location_plate(place) for place in form.cleaned_data["places"]]
        return _sent(request, form, plates, Printed.LOCATION, "places")
    return _show(request, form)


@requires(Act.SEE)
@require_POST
def label_box(request: HttpRequest) -> HttpResponse:
    """Print the label of a rack or box, with the hazards of everything in it."""
    form = OtherForm(request.POST)
    if not form.is_valid():
        return _show(request, form)
    place = form.cleaned_data["box"]
    if place is None:
        form.add_error("box", "Choose the rack, tray or box whose contents the label is for.")
        return _show(request, form)
    try:
        box = box_of(place, contents_of_place(place))
    except LabError as error:
        form.add_error("box", error.message)
        return _show(request, form)
    return _sent(request, form, [box.content], Printed.BOX, "box")


@requires(Act.STOCK)
@require_POST
def label_blanks(request: HttpRequest) -> HttpResponse:
    """Print blank labels: each takes a number that a container is given when it comes."""
    form = OtherForm(request.POST)
    if not form.is_valid():
        return _show(request, form)
    said = form.cleaned_data
    try:
        numbers = print_blanks(
            by=person_of(request), count=said["count"] or 0, paper=said["size"], key=said["key"]
        )
        file = render_selection([blank_plate(number) for number in numbers], said["size"], said["start"])
    except LabError as error:
        form.add_error("count" if error.code == "blank-count" else None, error.message)
        return _show(request, form)
    return pdf(file, f"blank-labels-{len(numbers)}.pdf")


@requires(Act.DRAW)
@require_POST
def label_card(request: HttpRequest) -> HttpResponse:
    """Print the card of amounts for a fixed scanner, on one page."""
    log_prints(by=person_of(request), codes=["AMOUNT"], paper="card", what=Printed.CARD)
    return pdf(render_selection(card_plates(), "card"), "amount-card.pdf")


@requires(Act.SEE)
@require_POST
def label_badge(request: HttpRequest) -> HttpResponse:
    """Print one's own badge; its number is drawn on the page under one's name."""
    person = person_of(request)
    badge = badge_of(person)
    if badge is None:
        return redirect("badge")
    log_prints(by=person, codes=[f"badge {badge.pk}"], paper="one-per-page", what=Printed.BADGE)
    return pdf(render_selection([badge_plate(badge)]), "badge.pdf")


def _sent(
    request: HttpRequest, form: OtherForm, labels: Sequence[Printable], what: str, name: str
) -> HttpResponse:
    said = form.cleaned_data
    try:
        file = render_selection(labels, said["size"], said["start"])
    except LabError as error:
        form.add_error(None, error.message)
        return _show(request, form)
    log_prints(by=person_of(request), codes=[label.code for label in labels], paper=said["size"], what=what)
    return pdf(file, f"labels-{name}.pdf")


def _show(request: HttpRequest, form: OtherForm, status: int = 422) -> HttpResponse:
    page = other_page(form, person_of(request))
    return render(request, "labels/other.html", {"page": page, "form": form}, status=status)
