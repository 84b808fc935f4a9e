"""The list of bench sums, and the page of each. Nothing is written; every answer has an address of its own."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from labstock.bench.sums.page import sum_page
from labstock.bench.sums.subjects import BY_SLUG, SUBJECTS
from labstock.people.roles import Act, requires


@requires(Act.SEE)
def index(request: HttpRequest) -> HttpResponse:
    """Show what can be worked out."""
    return render(request, "bench/sums/index.html", {"subjects": SUBJECTS})


@requires(Act.SEE)
def work_out(request: HttpRequest, subject: str) -> HttpResponse:
    """Show the forms of a subject, and the answer to what was asked."""
    if subject not in BY_SLUG:
        raise Http404(f"There is no sum called {subject}.")
    page = sum_page(BY_SLUG[subject], request.GET)
    return render(request, "bench/sums/sum.html", {"page": page}, status=422 if page.is_refused else 200)
