"""Lots: adding one to a substance, and changing one."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from labstock.people.roles import Act, requires
from labstock.stock.actions.catalogue import add_lot, change_lot
from labstock.stock.forms.lots import LotForm, lot_as_typed
from labstock.stock.models import Lot, Substance
from labstock.stock.views.acting import done, person_of


@requires(Act.STOCK)
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a lot of a substance."""
    substance = get_object_or_404(Substance, pk=pk)
    form = LotForm(request.POST or None)
    if form.is_bound:
        made = done(form, lambda: add_lot(by=person_of(request), substance=substance, **form.fields_of_lot()))
        if made is not None:
            messages.success(request, f"The lot is on the list: {made}.")
            return redirect("substance", pk=pk)
    return _page(request, form, substance)


@requires(Act.STOCK)
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a lot; its containers' dates follow."""
    lot = get_object_or_404(Lot.objects.select_related("substance"), pk=pk)
    form = LotForm(request.POST or None, initial=lot_as_typed(lot))
    if form.is_bound:
        changed = done(form, lambda: change_lot(lot=lot, by=person_of(request), **form.fields_of_lot()))
        if changed is not None:
            messages.success(request, f"The lot is changed: {changed}. Its containers' dates follow.")
            return redirect("substance", pk=changed.substance_id)
    return _page(request, form, lot.substance, lot)


def _page(request: HttpRequest, form: LotForm, substance: Substance, lot: Lot | None = None) -> HttpResponse:
    page = {"form": form, "substance": substance, "lot": lot}
    return render(request, "stock/lot_form.html", page, status=422 if form.is_bound else 200)
