import pytest

from labstock.chemistry.errors import LabError
from labstock.chemistry.evaporation import loss_per_month, words_for_loss


@pytest.mark.parametrize(
    ("boils_at", "low", "high"),
    [
        (34.6, 0.5, 2.0), (50.0, 0.5, 2.0), (50.1, 0.05, 0.3), (78.4, 0.05, 0.3), (100.0, 0.05, 0.3), (139.5, 0.01, 0.05)
    ],
)  # fmt: skip
def test_bounds_of_the_monthly_loss_follow_the_boiling_point(boils_at, low, high):
    # per cent a month, closed, 20 °C: estimates, from memory
    loss = loss_per_month(boils_at, 100.0)
    assert (loss.n - 1.96 * loss.s, loss.n + 1.96 * loss.s) == (pytest.approx(low), pytest.approx(high))


def test_sixty_percent_ethanol_kept_ten_years_lies_below_what_a_bottle_in_use_is_expected_to_lose():
    # 7.1 % of the volume in ten years at 21 °C, 136 mL screw jar never opened: 0.059 % a month (a museum's measurement)
    loss = loss_per_month(78.4, 136.0)
    assert loss.n - 1.96 * loss.s < 0.071 * 136 / 120 < loss.n


def test_beyond_ten_openings_the_upper_bound_is_three_times_as_high():
    once, often = loss_per_month(66, 500, 10), loss_per_month(66, 500, 11)
    assert often.n + 1.96 * often.s == pytest.approx(3 * (once.n + 1.96 * once.s))
    assert often.n - 1.96 * often.s == pytest.approx(once.n - 1.96 * once.s)


def test_a_loss_is_never_said_to_two_decimals_and_too_little_is_not_said():
    said = [
        words_for_loss(amount, "mL").replace("\u00a0", " ") for amount in (0.049, 0.05, 1.234, 9.96, 123.4)
    ]
    assert said == ["", "about 0.1 mL", "about 1.2 mL", "about 10 mL", "about 123 mL"]


def test_refuses_a_boiling_point_that_is_no_number():
    with pytest.raises(LabError) as refusal:
        loss_per_month(float("nan"), 100)
    assert refusal.value.message == (
        "A boiling point of nan °C cannot be: give it in °C, or leave it empty if it is not known."
    )
