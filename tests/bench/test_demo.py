"""The invented laboratory loads through the ordinary actions and agrees with sources outside the project."""

from io import StringIO

import pytest
from chemicals import MW
from django.core.management import call_command
from django.core.management.base import CommandError

from batches.models import Batch, BatchState
from batches.retained.models import RetainedSample
from labstock.bench.demo.loading import load_demo
from labstock.bench.demo.scenario import read_scenario
from labstock.chemistry.cas import check_cas
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.structure import formula_of
from labstock.people.models import User
from labstock.stock.models import Container, Reservation
from labstock.stock.verifying import find_faults
from tests.builders import person

pytestmark = pytest.mark.django_db
SUBSTANCES = {about["name"]: about for about in read_scenario().substances["substance"]}

# Densities at 20 °C [g/mL] as CHECKS of the project's practice collection lists them: CoolProp 8.0.0 (ethanol),
# `thermo` 0.6.1 by Perry's handbook, 8th ed. (acetic anhydride, diethyl ether, THF), CRC handbook, from memory
# (acetic acid). Tolerance 0.5 %.
DENSITIES = {
    "ethanol": 0.78942,
    "acetic anhydride": 1.0814,
    "diethyl ether": 0.7139,
    "tetrahydrofuran": 0.887,
    "acetic acid": 1.049,
}


@pytest.fixture
def demo():
    load_demo(read_scenario(), quiet=True)


def test_it_loads_whole_and_its_ledger_holds(demo):
    assert list(find_faults()) == []
    assert Container.objects.count() > 40
    assert RetainedSample.objects.filter(batch=None).count() == 12
    assert Reservation.objects.filter(session__owner__username="marit").exists()


def test_its_batches_are_finished_with_the_yields_that_a_calculator_gives(demo):
    batch = Batch.objects.get(title="Acetanilide")
    # 5.61 g aniline at 99.2 % over 93.129 g/mol is 59.76 mmol; times 135.166 is 8.077 g; 6.02 g × 0.991 / 8.077 g
    assert batch.yield_percent == pytest.approx(73.86, abs=0.03)
    batch = Batch.objects.get(title="Fluorescein")
    # 7.45 g at 99.5 ± 0.3 % over 148.117 is 50.05 mmol; times 332.31 (chemicals 1.5.2: C20H12O5) is 16.63 g
    assert batch.theoretical_g == pytest.approx(16.63, abs=0.02)
    assert Batch.objects.filter(state=BatchState.FINISHED).count() == 5


def test_what_was_poured_dissolved_and_found_is_there_as_people_do_it(demo):
    assert Container.objects.get(number=5101).entries.get().kind == "transferred in"
    solution = Container.objects.get(purpose="solution")
    # 2.76 g at 99 to 100 % (mean 99.5 %) over 138.121 g/mol (chemicals 1.5.2) in 200.0 mL is 99.4 mmol/L
    assert solution.lot.concentration.n == pytest.approx(0.0994, abs=0.0001)
    assert Container.objects.get(number=4790).signs.filter(is_seen=True).count() == 2
    assert Container.objects.get(found_unknown__isnull=False).state == "blocked"


@pytest.mark.parametrize("about", SUBSTANCES.values(), ids=list(SUBSTANCES))
def test_each_substance_agrees_with_itself_and_with_open_data(about):
    if "smiles" in about:
        assert formula_of(about["smiles"]).hill == parse_formula(about["formula"]).hill
    if "cas" in about:
        assert check_cas(about["cas"]) == about["cas"]
    if "cas" in about and not about.get("mixture"):
        # molar mass by the `chemicals` package, whose hydrogen is the older 1.00794: 40 ppm and a little
        assert parse_formula(about["formula"]).molar_mass.n == pytest.approx(MW(about["cas"]), rel=2e-4)


@pytest.mark.parametrize(("name", "density"), DENSITIES.items())
def test_densities_agree_with_published_ones(name, density):
    assert SUBSTANCES[name]["density"][0] == pytest.approx(density, rel=0.005)


def test_a_second_run_keeps_the_data_and_a_reset_refuses_other_peoples(settings, tmp_path):
    settings.REFERENCE_FILE = tmp_path / "reference.sqlite3"
    settings.REFERENCE_FILE.touch()
    settings.STATIC_ROOT = tmp_path
    person("marit")
    out = StringIO()
    call_command("demo", "--no-serve", stdout=out, verbosity=0)
    assert "There is data already: it is kept" in out.getvalue()
    User.objects.create_user("somebody")
    with pytest.raises(CommandError, match="people who are not of the demo: it is not thrown away"):
        call_command("demo", "--reset", "--no-serve", verbosity=0)
