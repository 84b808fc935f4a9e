"""Batch records: the list, the record, and what is written into it."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django_tables2 import RequestConfig

from batches.actions import products, record
from batches.filters import BatchFilter
from batches.forms_record import AbandonForm, FinishForm, ObserveForm, ProductForm, refuse
from batches.models import Batch, BatchState
from batches.pages_record import get_batch, purity_words, record_page, when_words
from batches.queries import batches_for, main_product, not_put_away_ug
from batches.tables import BatchTable
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, requires
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import show_code
from labstock.stock.models.container import MILLION


def find_or_404(number: str) -> Batch:
    """Return the batch, or the page that says there is none."""
    batch = get_batch(number)
    if batch is None:
        raise Http404(f"There is no batch {number[:20]}: look it up in the list of batches.")
    return batch


def person_of(request: HttpRequest) -> User:
    """Return who is logged in; the guard before the view let nobody else through."""
    return cast(User, request.user)


@requires(Act.SEE)
def batch_list(request: HttpRequest) -> HttpResponse:
    """List batches, the reader's open ones first."""
    sieve = BatchFilter(request.GET, queryset=batches_for(person_of(request)))
    table = BatchTable(sieve.qs)
    RequestConfig(request, paginate={"per_page": 25, "silent": True}).configure(table)
    return render(request, "batches/batch_list.html", {"sieve": sieve, "table": table})


@requires(Act.SEE)
def batch(request: HttpRequest, number: str) -> HttpResponse:
    """Show one record."""
    return _show(request, find_or_404(number), ObserveForm())


def _show(request: HttpRequest, found: Batch, form: ObserveForm) -> HttpResponse:
    page = record_page(found, person_of(request))
    status = 422 if form.errors else 200
    return render(
        request, "batches/batch.html", {"page": page, "form": form, "day": when_words(found)}, status=status
    )


@requires(Act.WRITE_BATCH)
def observe_now(request: HttpRequest, number: str) -> HttpResponse:
    """Write an observation, or, after the finish, an addition."""
    found = find_or_404(number)
    form = ObserveForm(request.POST if request.method == "POST" else None)
    if not form.is_valid():
        return _show(request, found, form)
    try:
        said = {name: form.cleaned_data[name] for name in ("text", "at", "is_departure", "key")}
        seen = record.observe(batch=found, by=person_of(request), **said)
    except LabError as error:
        refuse(form, error)
        return _show(request, found, form)
    messages.success(request, "Written down as an addition." if seen.is_addition else "Written down.")
    return redirect("batch", number=number)


@requires(Act.WRITE_BATCH)
def finish_now(request: HttpRequest, number: str) -> HttpResponse:
    """Write down the product and freeze the record."""
    found = find_or_404(number)
    form = FinishForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            done = record.finish(batch=found, by=person_of(request), result=form.result())
        except LabError as error:
            refuse(form, error)
        else:
            percent = show(done.yield_percent or 0, "%", done.yield_u_percent)
            messages.success(
                request, f"Finished: {percent} of theory. The record is frozen; later notes are additions."
            )
            return redirect("batch", number=number)
    return _act(request, "batches/finish.html", found, form)


@requires(Act.WRITE_BATCH)
def abandon_now(request: HttpRequest, number: str) -> HttpResponse:
    """Close a batch that comes to nothing."""
    found = find_or_404(number)
    form = AbandonForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            record.abandon(batch=found, by=person_of(request), reason=form.cleaned_data["reason"])
        except LabError as error:
            refuse(form, error)
        else:
            messages.success(request, f"Batch {number} is closed. What went in stays written.")
            return redirect("batch", number=number)
    return _act(request, "batches/abandon.html", found, form)


@requires(Act.WRITE_BATCH)
def product(request: HttpRequest, number: str) -> HttpResponse:
    """Put product into a container of its own."""
    found = find_or_404(number)
    left = not_put_away_ug(found) / MILLION
    initial = {"amount": f"{left:g} g" if left else "", "owner_group": person_of(request).group}
    form = ProductForm(request.POST if request.method == "POST" else None, initial=initial)
    if form.is_valid():
        try:
            container = products.put_in_container(
                batch=found,
                product=main_product(found),
                arrival=form.arrival(),
                doing=Doing(by=person_of(request), key=form.cleaned_data["key"], purpose=f"batch {number}"),
            )
        except LabError as error:
            refuse(form, error)
        else:
            messages.success(
                request, f"{container.name} is in {show_code(container.code)}: print its label now."
            )
            return redirect("batch", number=number)
    return _act(request, "batches/product.html", found, form, left=show(f"{left:g}", "g"))


def _act(request: HttpRequest, template: str, found: Batch, form: object, **more: object) -> HttpResponse:
    """Show a page with one form about a batch; what was typed is kept."""
    page = {
        "batch": found,
        "form": form,
        "is_finished": found.state == BatchState.FINISHED,
        "purity": purity_words(found),
        **more,
    }
    return render(request, template, page, status=422 if getattr(form, "errors", None) else 200)
