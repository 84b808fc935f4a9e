"""What holds for every plan, whatever its numbers."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.stoichiometry.lines import Fixed, LineInput, measures
from batches.stoichiometry.plan import actual, work_out
from labstock.chemistry.uncertain import exact, normal

# molar masses that conserve mass: 2 A + B -> P + 3 C
A, B, P, C = 60.0, 90.0, 120.0, 30.0
scales = some.floats(0.01, 1000)
equivalents = some.floats(1.0, 5.0)
fractions = some.floats(0.3, 1.0)
densities = some.floats(0.6, 2.0)


@some.composite
def reactions(draw):
    purity = draw(fractions)
    return [
        LineInput("a", "A", "reactant", exact(A), Fraction(2), fraction=exact(purity)),
        LineInput(
            "b", "B", "reactant", exact(B), Fraction(1), draw(equivalents.map(exact)),
            fraction=exact(draw(fractions)), density_g_per_mL=exact(draw(densities)),
        ),
        LineInput("p", "P", "product", exact(P), Fraction(1)),
        LineInput("c", "C", "product", exact(C), Fraction(3)),
        LineInput("s", "solvent", "solvent", fixed=Fixed(exact(draw(some.floats(0.1, 20))), "volume per mmol")),
    ]  # fmt: skip


@given(reactions(), scales)
def test_products_weigh_what_the_used_up_reactants_weigh(lines, scale):
    plan = work_out(lines, exact(scale), "mass", "a")
    extent = plan.limiting_amount_mmol.n / 2
    products = sum(plan.line(key).mass_g.n for key in ("p", "c"))
    assert products == pytest.approx(extent * (2 * A + B) / 1000)
    pure_in = plan.line("a").amount_mmol.n * A + plan.line("b").amount_mmol.n * B
    assert products <= pure_in / 1000 * (1 + 1e-9)


@given(reactions(), scales, some.floats(0.01, 100))
def test_twice_the_scale_is_twice_of_everything(lines, scale, factor):
    small = work_out(lines, exact(scale), "mass", "a")
    large = work_out(lines, exact(scale * factor), "mass", "a")
    for line in small.lines:
        for measure in ("amount_mmol", "mass_g", "volume_mL"):
            first, second = getattr(line, measure), getattr(large.line(line.key), measure)
            assert (first is None) == (second is None)
            if first is not None:
                assert second.n == pytest.approx(first.n * factor)
        if line.equivalents is not None:
            assert large.line(line.key).equivalents.n == pytest.approx(line.equivalents.n)


@given(reactions(), scales, some.sampled_from(["a", "b", "p", "c"]))
def test_scale_on_any_line_comes_back_on_that_line(lines, scale, key):
    plan = work_out(lines, exact(scale), "amount", key)
    assert plan.line(key).amount_mmol.n == pytest.approx(scale)


@given(reactions(), scales)
def test_the_limiting_reagent_has_the_least_extent(lines, scale):
    plan = work_out(lines, exact(scale), "mass", "a")
    extents = {key: plan.line(key).amount_mmol.n / nu for key, nu in (("a", 2), ("b", 1))}
    assert extents[plan.limiting_key] == pytest.approx(min(extents.values()))


@given(reactions(), scales)
def test_dispensing_the_plan_gives_the_plan(lines, scale):
    plan = work_out(lines, exact(scale), "mass", "a")
    taken = [
        replace(line, fixed=Fixed(exact(plan.line(line.key).mass_g.n), "mass"))
        for line in lines
        if line.role == "reactant"
    ]
    found = actual([*taken, *(line for line in lines if line.role == "product")])
    assert found.theoretical_mass_g.n == pytest.approx(plan.theoretical_mass_g.n)
    assert found.equivalents["b"].n == pytest.approx(plan.line("b").equivalents.n)


@given(reactions(), scales, some.floats(0, 0.05), some.floats(1e-6, 0.05))
def test_doubt_of_the_theory_never_shrinks_when_purity_gets_less_sure(lines, scale, u, more):
    first, *rest = lines
    calm = work_out([replace(first, fraction=normal(first.fraction.n, u)), *rest], exact(scale), "mass", "a")
    wild = work_out(
        [replace(first, fraction=normal(first.fraction.n, u + more)), *rest], exact(scale), "mass", "a"
    )
    assert wild.theoretical_mass_g.s > calm.theoretical_mass_g.s


@given(reactions(), some.floats(0.001, 1000), some.sampled_from(["mass", "volume", "amount"]))
def test_every_measure_leads_to_the_same_portion(lines, value, dimension):
    line = lines[1]
    portion = measures(line, exact(value), dimension)
    for other, found in (
        ("mass", portion.mass_g),
        ("volume", portion.volume_mL),
        ("amount", portion.amount_mmol),
    ):
        again = measures(line, found, other)
        assert again.amount_mmol.n == pytest.approx(portion.amount_mmol.n)
