import pytest

from labstock.bench import numbers_speed
from labstock.bench.numbers_speed import SUMS, measure


def test_both_sides_of_each_race_find_the_same():
    plan = numbers_speed.plan()
    mass_g, volume_mL, limiting, theory_g = numbers_speed.plain_plan()
    line = plan.line("b")
    assert (line.mass_g.n, line.volume_mL.n) == pytest.approx((mass_g, volume_mL))
    assert (plan.limiting_key, plan.theoretical_mass_g.n) == (limiting, pytest.approx(theory_g))
    # Cu + HNO3, OpenStax Chemistry 2e (m68709): 3, 8, 3, 4, 2
    assert numbers_speed.exact_balance().coefficients == (3, 8, 3, 4, 2)
    assert numbers_speed.plain_balance() == pytest.approx([1.5, 4, 1.5, 2, 1])


def test_every_sum_is_measured_beside_its_plain_one():
    rows = measure(rounds=2)
    assert [row.name for row in rows] == list(SUMS)
    for row in rows:
        assert row.ours_per_s > 0
        assert row.times > 1
        assert "in plain floats" in str(row)
