"""Substances: the list, one of them, adding and changing."""

from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from labstock.people.roles import Act, requires
from labstock.stock.actions.catalogue import add_substance, change_substance
from labstock.stock.filters import SubstanceFilter
from labstock.stock.forms.substances import SubstanceForm
from labstock.stock.models import Container, State, Substance
from labstock.stock.pages.substance import substance_page
from labstock.stock.pages.substance_form import substance_form_page
from labstock.stock.prefill import Looked, look_up
from labstock.stock.tables import PER_PAGE, SubstanceTable
from labstock.stock.views.acting import done, person_of


@requires(Act.SEE)
def substance_list(request: HttpRequest) -> HttpResponse:
    """List substances A to Z, with how many containers of each are in use."""
    sieve = SubstanceFilter(request.GET, queryset=Substance.objects.order_by("name"))
    table = SubstanceTable(sieve.qs, order_by="name")
    RequestConfig(request, paginate={"per_page": PER_PAGE, "silent": True}).configure(table)
    shown = [row.pk for row in table.page.object_list.data]
    rows = Container.objects.filter(substance__in=shown, state=State.IN_USE).order_by().values("substance")
    table.stocked_by_substance = {row["substance"]: row["count"] for row in rows.annotate(count=Count("pk"))}
    return render(request, "stock/substance_list.html", {"sieve": sieve, "table": table})


@requires(Act.SEE)
def substance(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one substance."""
    found = get_object_or_404(Substance.objects.prefetch_related("synonyms"), pk=pk)
    return render(request, "stock/substance.html", {"page": substance_page(found)})


@requires(Act.STOCK)
def add(request: HttpRequest) -> HttpResponse:
    """Look the substance up, confirm field by field, and add it."""
    looked = _looked(request)
    form = SubstanceForm(request.POST if request.method == "POST" else None, looked=looked)
    if form.is_to_save:
        made = done(form, lambda: add_substance(by=person_of(request), **_fields(form, request)))
        if made is not None:
            messages.success(request, f"{made.name} is on the list. Add a lot, or receive a container of it.")
            return redirect("substance", pk=made.pk)
    return _page(request, form)


@requires(Act.STOCK)
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is known of a substance."""
    found = get_object_or_404(Substance, pk=pk)
    form = SubstanceForm(
        request.POST if request.method == "POST" else None, substance=found, looked=_looked(request)
    )
    if form.is_to_save:
        changed = done(
            form, lambda: change_substance(substance=found, by=person_of(request), **_fields(form, request))
        )
        if changed is not None:
            messages.success(request, f"{changed.name} is changed.")
            return redirect("substance", pk=changed.pk)
    return _page(request, form)


def _looked(request: HttpRequest) -> Looked | None:
    typed = (request.POST if request.method == "POST" else request.GET).get("look", "").strip()
    return look_up(typed) if typed else None


def _fields(form: SubstanceForm, request: HttpRequest) -> dict[str, Any]:
    return {"synonyms": form.cleaned_data["synonyms"], **form.facts(person_of(request), timezone.localdate())}


def _page(request: HttpRequest, form: SubstanceForm) -> HttpResponse:
    status = 422 if form.is_to_save else 200
    return render(request, "stock/substance_form.html", {"page": substance_form_page(form)}, status=status)
