"""Places: the tree, one of them, adding one."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from labstock.people.roles import Act, requires
from labstock.stock.actions.catalogue import add_location
from labstock.stock.forms.locations import LocationForm
from labstock.stock.models import Location
from labstock.stock.pages.location import location_page, location_tree
from labstock.stock.views.acting import done, person_of


@requires(Act.SEE)
def location_list(request: HttpRequest) -> HttpResponse:
    """Show all places as a tree."""
    return render(request, "stock/location_list.html", {"tree": location_tree()})


@requires(Act.SEE)
def location(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one place and what stands in it."""
    place = get_object_or_404(Location.objects.select_related("parent"), pk=pk)
    return render(request, "stock/location.html", {"page": location_page(request, place)})


@requires(Act.STOCK)
def add(request: HttpRequest) -> HttpResponse:
    """Add a place inside another."""
    form = LocationForm(request.POST or None, initial={"parent": request.GET.get("in", "")})
    if form.is_bound:
        made = done(form, lambda: add_location(by=person_of(request), **form.cleaned_data))
        if made is not None:
            messages.success(request, f"{made} is on the list.")
            return redirect("location", pk=made.pk)
    return render(request, "stock/location_form.html", {"form": form}, status=422 if form.is_bound else 200)
