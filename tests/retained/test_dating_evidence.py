from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.retained.dating_evidence import Evidence, combine_evidence
from batches.retained.edtf import read_edtf
from labstock.chemistry.errors import LabError


def _pieces(*texts: str) -> list[Evidence]:
    return [Evidence(f"clue {text}", read_edtf(text)) for text in texts]


@pytest.mark.parametrize(
    ("texts", "proposed"),
    [
        (["1921/..", "../1938"], "1921/1938"),
        (["1921/1938", "193X"], "1930/1938"),
        (["1921/..", "1930/.."], "1930/.."),
        (["../1938", "../1930-06"], "../1930-06"),
        (["1934", "../1934-06-14"], "1934-01-01/1934-06-14"),
        (["1934/..", "../1934"], "1934"),
        (["1934-06-14/..", "../1934-06-14"], "1934-06-14"),
        (["1934~"], "1934"),
        (["/1939", "1921/"], "1921/1939"),
    ],
)
def test_lays_before_and_after_over_each_other(texts: list[str], proposed: str) -> None:
    found = combine_evidence(_pieces(*texts))
    assert found.edtf is not None
    assert found.edtf.text == proposed
    assert found.contradictions == ()


def test_names_the_piece_that_does_not_fit() -> None:
    found = combine_evidence(_pieces("1921/1938", "../1930", "1950/.."))
    assert found.edtf is not None
    assert found.edtf.text == "1921/1930"
    assert [piece.limits.text for piece in found.contradictions] == ["1950/.."]
    assert "Contradicted by clue 1950/.. (in or after 1950): look again" in found.words


def test_a_trusted_piece_outweighs_two_weak_ones() -> None:
    pieces = [*_pieces("1900/1910", "1905/1910"), Evidence("dated letter", read_edtf("1934-06-14"), weight=5)]
    found = combine_evidence(pieces)
    assert found.edtf is not None
    assert found.edtf.text == "1934-06-14"


def test_a_tie_is_shown_as_a_choice_and_not_settled() -> None:
    found = combine_evidence(_pieces("1900/1905", "1920/1930"))
    assert found.edtf is not None
    assert found.edtf.text == "[1900..1905, 1920..1930]"
    assert found.edtf.words == "one of: between 1900 and 1905; between 1920 and 1930"


def test_evidence_without_limits_leaves_every_date_open() -> None:
    found = combine_evidence(_pieces("XXXX-11-12"))
    assert found.edtf is None
    assert found.words.startswith("Proposed: any date")


def test_refuses_no_evidence_and_evidence_without_weight() -> None:
    with pytest.raises(LabError, match="no evidence is given: enter at least one observation"):
        combine_evidence([])
    with pytest.raises(LabError, match="the weight 0 of 'guess' cannot be"):
        combine_evidence([Evidence("guess", read_edtf("1934"), weight=0)])


DAYS = st.dates(date(1850, 1, 1), date(2026, 1, 1))
MARGINS = st.lists(st.tuples(st.integers(0, 9000), st.integers(0, 9000)), min_size=1, max_size=6)


@given(DAYS, MARGINS)
def test_true_evidence_never_excludes_the_true_day(truth: date, margins: list[tuple[int, int]]) -> None:
    spans = [(truth - timedelta(days=before), truth + timedelta(days=after)) for before, after in margins]
    found = combine_evidence(_pieces(*(f"{first}/{last}" for first, last in spans)))
    assert found.edtf is not None
    assert found.edtf.earliest == max(first for first, _ in spans)
    assert found.edtf.latest == min(last for _, last in spans)
    assert found.contradictions == ()
