"""The page of one container."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labstock.bench.forms import UseForm
from labstock.bench.memory import habit_of
from labstock.bench.pages.container import container_page
from labstock.bench.views.finding import at_container
from labstock.bench.walking import way_back
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.stock.models import Container


@requires(Act.SEE)
@at_container
def container(request: HttpRequest, container: Container) -> HttpResponse:
    """Answer first, then the form, then the evidence; in the middle of a stock check, back to the check."""
    if address := way_back(request, container.code):
        return redirect(address)
    return show_container(request, container)


def show_container(
    request: HttpRequest,
    container: Container,
    form: UseForm | None = None,
    refusal: LabError | None = None,
    status: int = 422,
) -> HttpResponse:
    """Render the page; a form that came back keeps what was typed and carries the status of a refusal."""
    user = request.user
    assert user.is_authenticated
    page = container_page(
        container,
        user,
        habit_of(request, container.unit),
        form=form,
        refusal=refusal,
        all_lines="lines" in request.GET,
    )
    return render(request, "bench/container.html", {"page": page}, status=200 if form is None else status)
