"""From one container into another: decanting, topping up, making a solution; and where a lot went on to."""

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.html import format_html

from labstock.bench.forms import ActForm
from labstock.bench.forms_pouring import DecantForm, SolutionForm, TopUpForm
from labstock.bench.pages.after import cut_into
from labstock.bench.pages.amounts import left_words
from labstock.bench.pages.threads import forward
from labstock.bench.views.finding import at_container
from labstock.bench.views.performing import Deed, Outcome, perform
from labstock.people.roles import Act, requires
from labstock.stock.actions.dissolving import make_solution
from labstock.stock.actions.transferring import decant, top_up
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Lot


@requires(Act.DRAW)
@at_container
def decant_into(request: HttpRequest, container: Container) -> HttpResponse:
    """Fill an empty vessel from it; the new page offers its label at once."""

    def do(form: ActForm) -> Outcome:
        form = cast(DecantForm, form)
        said = form.cleaned_data
        child = decant(
            container=container,
            amount=said["amount"],
            device_code=form.device_code,
            into=form.into(),
            doing=form.doing(),
        )
        words = f"{show_code(container.code)} went into {show_code(child.code)}: lot, hazards, opening and end went along."
        return _new(words, child, container, form)

    note = "The new one gets its own code. Lot, hazards, opened date and end go along."
    return perform(request, container, Deed("Decant", "Decant it", DecantForm, do, note=note))


@requires(Act.DRAW)
@at_container
def dissolve(request: HttpRequest, container: Container) -> HttpResponse:
    """Make a solution of it in a new container."""

    def do(form: ActForm) -> Outcome:
        form = cast(SolutionForm, form)
        child = make_solution(parts=form.parts(), solution=form.solution(), doing=form.doing())
        return _new(f"{child.name} made in {show_code(child.code)}.", child, container, form)

    note = (
        "Strength and its doubt are worked out from the amounts, the volume and what is known of the purity."
    )
    return perform(request, container, Deed("Make a solution", "Make it", SolutionForm, do, note=note))


def _new(words: str, child: Container, parent: Container, form: ActForm) -> Outcome:
    """Say what was filled, and offer its label."""
    link = format_html(
        '{} <a href="{}" target="_blank">Print its label</a>',
        words,
        reverse("label-single", args=[child.code]),
    )
    parent.refresh_from_db()
    return Outcome(link, caution=cut_into(parent, form.person), at=child)


@requires(Act.DRAW)
@at_container
def pour_onto(request: HttpRequest, container: Container) -> HttpResponse:
    """Pour it onto another container of the same substance."""

    def do(form: ActForm) -> Outcome:
        form = cast(TopUpForm, form)
        said = form.cleaned_data
        target = top_up(
            container=container,
            into=said["into"],
            amount=said["amount"],
            device_code=form.device_code,
            doing=form.doing(),
        )
        words = f"Poured onto {show_code(target.code)}, {left_words(target)} in it now. A recall of either lot finds it."
        container.refresh_from_db()
        return Outcome(words, caution=cut_into(container, form.person), at=target)

    note = "The lots mix: both stay on record with their shares, and the earliest end of the two rules."
    return perform(request, container, Deed("Top up another one", "Pour it", TopUpForm, do, note=note))


@requires(Act.SEE)
def lot_forward(request: HttpRequest, pk: int) -> HttpResponse:
    """Show everything that contains a lot."""
    lot = get_object_or_404(Lot.objects.select_related("substance"), pk=pk)
    return render(request, "bench/forward.html", {"page": forward(lot)})
