"""What may have evaporated is said where somebody counts on an amount: a model, rounded, never booked."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.bench.pages.ledger import _steps
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container
from tests.bench.conftest import text_of
from tests.builders import amount, container, person

pytestmark = pytest.mark.django_db
ETHER = {
    "name": "diethyl ether", "is_liquid": True, "density_g_per_mL": 0.714, "boiling_point_celsius": 34.6,
}  # fmt: skip


@pytest.fixture
def ether():
    opened = timezone.now() - timedelta(days=61)
    one = container(ETHER, gross="200.00 g", at=opened)
    draw(
        container=one,
        amount=amount("10 mL"),
        device_code="cylinder-10-a",
        doing=Doing(by=person(), at=opened),
    )
    return Container.objects.get(pk=one.pk)


def test_the_answer_says_what_may_have_evaporated_and_counts_with_it(marit, ether):
    page = text_of(marit.get(f"/C/{ether.code}"))
    # sixty days at 1.25 mL a month are 2.5 mL (estimates, from memory)
    assert "About 2.5 mL may have evaporated (a model); weigh it to know" in page
    sure = 90 - 2.5 - 1.5 - 1.645 * 0.81
    assert f"Yes, up to {sure:.1f}"[:14] in page


def test_the_picture_of_the_ledger_widens_up_to_now(ether):
    lines = list(ether.entries.order_by("-seq"))
    steps = _steps(ether, lines, timezone.now())
    assert [step.kind for step in steps[:2]] == ["received", "drawn"]
    assert [step.u for step in steps[1:]] == sorted(step.u for step in steps[1:])
    assert steps[-1].u == pytest.approx(ether.doubt.u, rel=1e-3)


def test_the_account_says_it_and_after_a_weighing_what_was_allowed_for(client, ether):
    client.force_login(person("wren"))
    address = f"{reverse('where-did-it-go')}?container={ether.code}"
    assert "About 2.5 mL may have evaporated by now (a model, not booked)" in text_of(client.get(address))
    weigh(
        container=ether, gross=amount(f"{200 - 12.4 * 0.714:.2f} g"), device_code="balance-0.01g",
        doing=Doing(by=person("wren")),
    )  # fmt: skip
    page = text_of(client.get(address))
    assert (
        "Of what weighing and counting changed, about 2.5 mL was expected to have evaporated (a model)"
        in page
    )
    assert "Tolerance alone explains it" in page
    assert "may have evaporated by now" not in page


def test_the_page_that_reverses_says_that_a_later_weighing_stands(client, ether):
    client.force_login(person("wren"))
    weigh(
        container=ether, gross=amount("200.00 g"), device_code="balance-0.01g",
        doing=Doing(by=person("wren"), reason="wrong bottle"),
    )  # fmt: skip
    address = reverse("entry-reverse", args=[ether.code, 2])
    page = text_of(client.get(address))
    assert (
        "(weighed back) came after it and has put the amount right: what is left stays as that found" in page
    )
