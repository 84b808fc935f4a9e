"""Retained samples: find one, look at it, catalogue one, put one aside."""

from typing import cast

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from batches.pages_record import get_batch
from batches.retained import actions
from batches.retained.filters import SampleFilter
from batches.retained.forms import ConditionForm, ProvenanceForm, RetainForm, SampleForm
from batches.retained.looking import check_condition
from batches.retained.models import ProvenanceNote, RetainedSample
from batches.retained.pages import next_look, sample_page
from batches.retained.queries import did_you_mean, get_sample, samples
from batches.retained.tables import SampleTable
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, requires
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import read_code, show_code
from labstock.stock.models import State
from labstock.stock.tables import paged


def person_of(request: HttpRequest) -> User:
    """Return who is logged in; the guard before the view let nobody else through."""
    return cast(User, request.user)


def find_or_404(code: str) -> RetainedSample:
    """Return the sample with a code in any spelling, or the page that says there is none."""
    try:
        return get_sample(read_code(code, settings.LABSTOCK_CODE_PREFIX))
    except LabError as error:
        raise Http404(error.message) from error


@requires(Act.SEE)
def sample_list(request: HttpRequest) -> HttpResponse:
    """Find a sample by words and by what narrows them."""
    sieve = SampleFilter(request.GET, queryset=samples())
    table = SampleTable(sieve.qs)
    RequestConfig(request, paginate=paged(request, is_counted=sieve.is_counted)).configure(table)
    count = table.paginator.count
    meant = did_you_mean(request.GET.get("q", "")) if not count and sieve.form.is_valid() else []
    page = {"sieve": sieve, "table": table, "count": count, "meant": meant}
    return render(request, "retained/sample_list.html", page, status=200 if sieve.form.is_valid() else 422)


@requires(Act.SEE)
def sample(request: HttpRequest, code: str) -> HttpResponse:
    """Show one sample; a suggestion that was followed fills the form and nothing else."""
    found = find_or_404(code)
    taken = request.GET.get("date", "")[:120]
    initial = {"subject": ProvenanceNote.Subject.READING, "understood_as": taken} if taken else {}
    return _show(request, found, ProvenanceForm(initial=initial))


def _show(request: HttpRequest, found: RetainedSample, form: ProvenanceForm) -> HttpResponse:
    page = {"page": sample_page(found, person_of(request)), "form": form, "today": timezone.localdate()}
    return render(request, "retained/sample.html", page, status=422 if form.errors else 200)


@requires(Act.WRITE_BATCH)
def provenance(request: HttpRequest, code: str) -> HttpResponse:
    """Add a statement about a sample."""
    found = find_or_404(code)
    form = ProvenanceForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            actions.add_provenance(sample=found, by=person_of(request), **form.cleaned_data)
        except LabError as error:
            form.add_error(None, error.message)
        else:
            messages.success(request, "Added to what is known of this sample.")
            return redirect("sample", code=found.container.code)
    return _show(request, found, form)


@requires(Act.WRITE_BATCH)
def condition(request: HttpRequest, code: str) -> HttpResponse:
    """Write down how a sample looks, from outside."""
    found = find_or_404(code)
    start = {"next_on": next_look(timezone.localdate())}
    form = ConditionForm(request.POST if request.method == "POST" else None, initial=start)
    if form.is_valid():
        said = form.cleaned_data
        doing = Doing(by=person_of(request), key=said["key"], at=said["at"] or timezone.now())
        try:
            made = check_condition(sample=found, seen=form.seen(), doing=doing, next_on=said["next_on"])
        except LabError as error:
            form.add_error(None, error.message)
        else:
            messages.success(
                request, f"Kept: {made.get_scale_display()}. It can be answered by another look, not changed."
            )
            return redirect("sample", code=found.container.code)
    page = {"page": sample_page(found, person_of(request)), "form": form}
    return render(request, "retained/condition.html", page, status=422 if form.errors else 200)


@requires(Act.WRITE_BATCH)
def sample_add(request: HttpRequest) -> HttpResponse:
    """Catalogue a historic sample."""
    form = SampleForm(request.POST if request.method == "POST" else None, person=person_of(request))
    if form.is_valid():
        try:
            made = actions.catalogue_old(
                label=form.label(), arrival=form.arrival(), keeping=form.keeping(), provenance=form.provenance(),
                doing=Doing(by=person_of(request), key=form.cleaned_data["key"]),
            )  # fmt: skip
        except LabError as error:
            form.add_error(None, error.message)
        else:
            _say_catalogued(request, made)
            return redirect("sample", code=made.container.code)
    return render(request, "retained/sample_add.html", {"form": form}, status=422 if form.errors else 200)


def _say_catalogued(request: HttpRequest, made: RetainedSample) -> None:
    code = show_code(made.container.code)
    messages.success(
        request, f"Catalogued as {code}. Tie the label on; nothing is written on the glass itself."
    )
    if made.container.state == State.BLOCKED:
        messages.warning(request, f"{code} is blocked. {made.container.state_because}")


@requires(Act.WRITE_BATCH)
def retain(request: HttpRequest, number: str) -> HttpResponse:
    """Put a portion of a batch's product aside."""
    batch = get_batch(number)
    if batch is None:
        raise Http404(f"There is no batch {number[:20]}: look it up in the list of batches.")
    form = RetainForm(request.POST if request.method == "POST" else None, batch=batch)
    if form.is_valid():
        said = form.cleaned_data
        doing = Doing(by=person_of(request), key=said["key"])
        try:
            made = actions.put_aside(
                product=said["product"], amount=said["amount"], keeping=form.keeping(), doing=doing
            )
        except LabError as error:
            form.add_error(None, error.message)
        else:
            messages.success(
                request,
                f"{said['amount'].typed} is put aside as {show_code(made.container.code)}: print its label now.",
            )
            return redirect("sample", code=made.container.code)
    page = {"batch": batch, "form": form, "has_product": bool(form.fields["product"].queryset)}  # type: ignore[attr-defined]  # a ModelChoiceField
    return render(request, "retained/retain.html", page, status=422 if form.errors else 200)
