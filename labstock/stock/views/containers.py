"""The stock list, and containers coming in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.stock.actions.deliveries import receive_delivery
from labstock.stock.forms.receiving import ReceiveForm, proposed_needs
from labstock.stock.makers_code import MakersCode, find_makers_code
from labstock.stock.models import Substance
from labstock.stock.pages.proof import proven_table
from labstock.stock.pages.receiving import choosing, received
from labstock.stock.pages.stock_list import HEADINGS, rows_to_export, stock_list
from labstock.stock.views.acting import done, person_of
from labstock.stock.workbooks import MEDIA_TYPE


@requires(Act.SEE)
def container_list(request: HttpRequest) -> HttpResponse:
    """List what is on the shelf, soonest end first."""
    return render(request, "stock/container_list.html", {"page": stock_list(request)})


@requires(Act.SEE)
def container_export(request: HttpRequest) -> HttpResponse:
    """Give the filtered list as a workbook."""
    try:
        book = proven_table(rows_to_export(request), HEADINGS, "Stock", person_of(request))
    except LabError as error:
        messages.error(request, error.message)
        return redirect(f"{reverse('container-list')}?{request.GET.urlencode()}")
    name = f"stock-{timezone.localdate():%Y-%m-%d}.xlsx"
    return HttpResponse(book, MEDIA_TYPE, headers={"Content-Disposition": f'attachment; filename="{name}"'})


@requires(Act.STOCK)
def receive_containers(request: HttpRequest) -> HttpResponse:
    """Ask what has come, then how much of it and where it goes; at the end, show the codes."""
    if made := received(request.GET.get("made", "")):
        return render(request, "stock/received.html", {"page": made})
    pk = (request.POST or request.GET).get("substance", "")
    if not pk.isascii() or not pk.isdigit():
        typed = request.GET.get("find", "").strip()
        makers = typed if _said_by_maker(typed) else request.GET.get("makers", "")
        came = _said_by_maker(makers)
        page = choosing("" if makers == typed else typed, came.gtin if came else "")
        more = {
            "page": page,
            "makers": makers,
            "came": came,
            "labels": request.GET.get("labels", ""),
        }
        return render(request, "stock/receive_what.html", more)
    return _receive(request, get_object_or_404(Substance, pk=min(int(pk), 2**62)))


def _receive(request: HttpRequest, substance: Substance) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = ReceiveForm(
        data,
        substance=substance,
        person=person_of(request),
        lot_pk=request.GET.get("lot", ""),
        came=_said_by_maker(request.GET.get("makers", "")),
        labels=request.GET.get("labels", ""),
    )
    if data is not None:
        made = done(form, lambda: _delivery(form))
        if made:
            return redirect(f"{reverse('container-receive')}?made={','.join(row.code for row in made)}")
    page = {"form": form, "substance": substance, "proposed": proposed_needs(substance)}
    return render(request, "stock/receive.html", page, status=200 if data is None else 422)


def _said_by_maker(text: str) -> MakersCode | None:
    return find_makers_code(text[:200], timezone.localdate())


def _delivery(form: ReceiveForm) -> list:
    return receive_delivery(
        arrival=form.arrival(),
        count=form.count,
        doing=form.doing(),
        gross=form.cleaned_data["gross"],
        new_lot=form.lot_to_add(),
        labels=form.cleaned_data["labels"],
    )
