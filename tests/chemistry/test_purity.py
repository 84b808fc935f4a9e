"""Label claims as distributions."""

from dataclasses import dataclass
from datetime import date

import pytest

from labstock.chemistry.errors import LabError
from labstock.chemistry.purity import Claim, DatedClaim, as_is, effective, newest_valid, taken_as_pure
from labstock.chemistry.uncertain import UFloat, exact, normal

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Halving:
    """A model that halves the purity; stands in for moisture."""

    since: date | None = None
    words: str = "halved by a model"

    def fraction_after(self, fraction: UFloat) -> UFloat:
        return fraction * 0.5


def test_at_least_is_a_rectangle_up_to_pure():
    fraction = Claim("at least", 98).fraction
    assert fraction.n == pytest.approx(0.99)
    assert fraction.s == pytest.approx(0.01 / 3**0.5)  # JCGM 100:2008, 4.3.7: half width over √3


def test_certificate_keeps_its_uncertainty():
    fraction = Claim("certificate", 99.7, 0.1).fraction
    assert (fraction.n, fraction.s) == (pytest.approx(0.997), pytest.approx(0.001))


def test_purity_of_quam_a1():
    # EURACHEM/CITAC QUAM, example A1: 0.9999 ± 0.0001, taken as a rectangle: u 0.000058
    assert Claim("certificate", 99.99, 0.01 / 3**0.5).fraction.s == pytest.approx(0.000058, abs=5e-7)


@pytest.mark.parametrize(
    ("percent", "low", "high"),
    [(97, 0.94, 1.0), (99.9, 0.989, 1.0), (30, 0.0, 1.0)],  # our own rule: as wide as it is from pure
)
def test_nominal_is_widened(percent, low, high):
    fraction = Claim("nominal", percent).fraction
    assert fraction.n == pytest.approx((low + high) / 2)
    assert fraction.s == pytest.approx((high - low) / 2 / 3**0.5)


@pytest.mark.parametrize(
    ("claim", "words"),
    [
        (Claim("at least", 98), "≥ 98 %"),
        (Claim("certificate", 99.7, 0.1), "99.7 ± 0.2 % by certificate"),
        (Claim("certificate", 99.7), "99.7 % by certificate"),
        (Claim("assay", 93.6, 0.35), "93.6 ± 0.7 % by assay"),
        (Claim("assay", 93.61, 0.125, "titration"), "93.61 ± 0.25 % by assay, by titration"),
        (Claim("at least", 99.5, basis="area"), "≥ 99.5 %, area % taken as w/w"),
        (Claim("nominal", 97), "about 97 % by grade only"),
        (Claim("unknown"), "purity not stated"),
    ],
)
def test_words_of_a_claim(claim, words):
    assert claim.words.replace("\u00a0", " ") == words


def test_newest_valid_assay_wins_over_the_certificate():
    certificate = DatedClaim(Claim("certificate", 99.7, 0.1), date(2026, 6, 1))
    older = DatedClaim(Claim("assay", 97.0, 0.2), date(2026, 3, 1))
    newer = DatedClaim(Claim("assay", 93.6, 0.2), date(2026, 9, 1))
    assert newest_valid([certificate, newer, older], TODAY) is newer


def test_lapsed_and_future_assays_do_not_count():
    label = DatedClaim(Claim("at least", 98))
    lapsed = DatedClaim(Claim("assay", 97.0), date(2025, 3, 1), valid_until=date(2025, 9, 1))
    future = DatedClaim(Claim("assay", 95.0), date(2026, 12, 1))
    assert newest_valid([lapsed, future, label], TODAY) is label


def test_certificate_goes_before_label_and_grade():
    claims = [DatedClaim(Claim(kind, 98)) for kind in ("nominal", "at least", "certificate")]
    assert newest_valid(claims, TODAY).claim.kind == "certificate"


def test_nothing_known_is_none():
    assert newest_valid([DatedClaim(Claim("unknown"))], TODAY) is None


def test_a_model_lowers_the_claim_and_says_so():
    found = effective([Claim("at least", 98)], Halving())
    assert found.is_model
    assert found.fraction.n == pytest.approx(0.495)
    assert found.words == "≥\u00a098\u00a0%, then halved by a model"


def test_a_model_that_would_count_twice_is_left_out():
    assay = DatedClaim(Claim("assay", 93.6, 0.2), date(2026, 9, 1))
    before, after = Halving(date(2026, 1, 1)), Halving(date(2026, 9, 1))
    assert not effective([assay], before, on=TODAY).is_model
    assert effective([assay], after, on=TODAY).is_model


def test_purity_on_the_dried_substance_is_brought_back_to_the_bottle():
    # USP aspirin: loss on drying not more than 0.5 %
    assert as_is(normal(0.995, 0.001), exact(0.005)).n == pytest.approx(0.995 * 0.995)


def test_pure_by_choice_says_so():
    assert taken_as_pure().fraction.n == 1
    assert "no purity on record" in taken_as_pure().words


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: Claim("certificate", 998),
            "A purity of 998 % cannot be: it lies above 0 and not over 105 %. Correct the number.",
        ),
        (
            lambda: Claim("at least", 101),
            "A purity of 101 % cannot be: it lies above 0 and not over 100 %. Correct the number.",
        ),
        (
            lambda: Claim("assay", -3),
            "A purity of -3 % cannot be: it lies above 0 and not over 105 %. Correct the number.",
        ),
        (
            lambda: Claim("at least", 0.98),
            "≥ 0.98 % says almost nothing (anything up to 100 %): write 98 for 98 %, "
            "or enter the concentration of a solution in mol/L.",
        ),
        (
            lambda: Claim("certificate"),
            'The kind "certificate" needs a number in %: enter it, or choose "unknown".',
        ),
        (
            lambda: Claim("guess", 98),
            'A purity of the kind "guess" is not known: choose one of certificate, assay, at least, nominal, '
            "unknown.",
        ),
        (
            lambda: Claim("certificate", 38, basis="v/v"),
            "A purity in % v/v is not a mass fraction: give it w/w, or enter the concentration in mol/L.",
        ),
        (
            lambda: Claim("assay", 98, -1),
            "A standard uncertainty of -1 percentage points cannot be: it lies between 0 and 50.",
        ),
        (
            lambda: Claim("unknown").fraction,
            "No purity is on record for this lot: enter what the label or certificate says, "
            "or choose to take it as pure.",
        ),
        (
            lambda: effective([], on=TODAY),
            "No valid purity is on record for this lot on 2026-11-25: enter what the label or certificate "
            "says, measure it, or choose to take it as pure.",
        ),
        (
            lambda: as_is(exact(0.99), exact(1.2)),
            "A loss on drying of 120 % cannot be: it lies between 0 and 100 %.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
