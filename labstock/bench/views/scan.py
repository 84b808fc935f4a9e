"""One field that takes whatever a label, a scanner or a person gives."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labstock.bench.views.finding import find_typed, not_found
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires


@requires(Act.SEE)
def scan(request: HttpRequest) -> HttpResponse:
    """Show the field, or go where the code leads."""
    typed = request.GET.get("code")
    if typed is None:
        return render(request, "bench/scan.html")
    try:
        return redirect("container", code=find_typed(typed).code)
    except LabError as error:
        return not_found(request, typed, error)
