"""CAS numbers. Valid and invalid lists: python-stdnum docs and tests; sums of the first five by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.cas import check_cas, check_digit
from labstock.chemistry.errors import LabError

_VALID = """
7732-18-5 108-24-7 50-78-2 69-72-7 58-08-2 107-07-3 87-86-5 51-43-4 2040295-03-0 329-65-7
103-90-2 123-30-8 62-53-3 103-84-4 108-31-6 108-30-5 85-44-9 7664-38-2 109-99-9 60-29-7
7758-98-7 7758-99-8 497-19-8 6132-02-1 7789-20-0 64-19-7
"""
VALID = _VALID.split()

WRONG_DIGIT = {
    "87-86-6": 5, "7732-18-4": 5, "108-24-8": 7, "50-78-3": 2, "69-72-5": 7, "107-07-2": 3,
}  # fmt: skip


def refusal(text: str) -> LabError:
    with pytest.raises(LabError) as caught:
        check_cas(text)
    return caught.value


@pytest.mark.parametrize("number", VALID)
def test_accepts_every_valid_number(number):
    assert check_cas(number) == number


# Weighted sums worked by hand: 105, 37, 42, 67, 52, 33.
@pytest.mark.parametrize(
    ("digits", "last"), [("773218", 5), ("10824", 7), ("5078", 2), ("6972", 7), ("5808", 2), ("10707", 3)]
)
def test_check_digits_worked_by_hand(digits, last):
    assert check_digit(digits) == last


@pytest.mark.parametrize(("number", "wanted"), WRONG_DIGIT.items())
def test_names_the_check_digit_it_should_be(number, wanted):
    error = refusal(number)
    assert error.code == "cas-check-digit"
    assert f"should be {wanted} for {number[:-2]}, not {number[-1]}" in str(error)


@pytest.mark.parametrize(("swapped", "meant"), [("7723-18-5", "7732-18-5"), ("50-87-2", "50-78-2")])
def test_offers_the_number_with_two_neighbours_swapped_back(swapped, meant):
    assert f"swapped: {meant}?" in str(refusal(swapped))


def test_a_leading_zero_is_its_own_mistake():
    assert refusal("012770-26-2").code == "cas-leading-zero"
    assert "leave the zero out (12770-26-2)" in str(refusal("012770-26-2"))


@pytest.mark.parametrize("typed", ["32-96-57", "32965-7", "329657", "329-657"])
def test_misplaced_dashes_are_told_with_the_number_meant(typed):
    assert refusal(typed).code == "cas-dashes"
    assert "Did you mean 329-65-7?" in str(refusal(typed))


@pytest.mark.parametrize(
    ("typed", "fault"), [("1-43-4", "left out"), ("12040295-03-0", "too many"), ("12", "left out")]
)
def test_wrong_length_says_which_way(typed, fault):
    assert refusal(typed).code == "cas-length"
    assert str(refusal(typed)).endswith(f"look for a digit {fault}.")


def test_a_formula_in_the_field_is_named_as_such():
    assert "'C' is no digit" in str(refusal("C4H6O3"))
    assert refusal("   ").code == "cas-empty"


@pytest.mark.parametrize(
    "typed", ["CAS 108-24-7", "CAS No. 108–24–7", " 108-24-7\n", "cas: 108-24-7", "108‑24‑7"]
)
def test_usual_spellings_come_out_as_one(typed):
    assert check_cas(typed) == "108-24-7"


def test_digits_of_other_scripts_are_refused():
    assert refusal("١٠٨-٢٤-٧").code.startswith("cas-")


@given(st.integers(10, 999_999_999), st.integers(0, 9), st.integers(0, 8))
def test_any_single_wrong_digit_is_caught_where_its_weight_allows(body, new, place):
    """Weights 2, 4, 5, 6 and 8 share a factor with ten, so only some changes there can be seen."""
    digits = str(body)
    if len(digits) < 4 or place >= len(digits) or digits[place] == str(new):
        return
    changed = digits[:place] + str(new) + digits[place + 1 :]
    weight = len(digits) - place
    is_visible = weight * (int(digits[place]) - new) % 10 != 0
    assert (check_digit(digits) != check_digit(changed)) == is_visible
