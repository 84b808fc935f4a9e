"""The age of an undated sample from evidence: each piece says "not before" or "not after", with its reason.

The pieces are laid over each other; where most of their weight agrees is the proposal, and every piece that does
not fit it is named as a contradiction. A person decides; the result is a proposal like any reading of a label.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from batches.retained.edtf import EdtfDate, read_edtf
from labstock.chemistry.errors import LabError

FIRST, LAST = date.min.toordinal(), date.max.toordinal()


@dataclass(frozen=True)
class Evidence:
    """One piece of evidence about a date.

    Attributes
    ----------
    reason : str
        What was seen and why it limits the date, such as "label printed by telephone exchange name" [-].
    limits : EdtfDate
        The dates it allows, such as ``1921/..`` for not before 1921 [-].
    weight : float
        How far it is trusted against the others, above 0; 1 for an ordinary piece [-].
    """

    reason: str
    limits: EdtfDate
    weight: float = 1.0


@dataclass(frozen=True)
class DatedByEvidence:
    """What the evidence says together.

    Attributes
    ----------
    edtf : EdtfDate or None
        The proposed date; None when the pieces leave every date open [-].
    supports, contradictions : tuple of Evidence
        The pieces that fit the proposal and those that do not [-].
    words : str
        The proposal with its reasons in plain English [-].
    """

    edtf: EdtfDate | None
    supports: tuple[Evidence, ...]
    contradictions: tuple[Evidence, ...]
    words: str


def combine_evidence(pieces: Sequence[Evidence]) -> DatedByEvidence:
    """Combine pieces of evidence into one proposed date.

    Parameters
    ----------
    pieces : sequence of Evidence
        The evidence, at least one piece [-].

    Returns
    -------
    DatedByEvidence
        The dates on which most weight agrees, with reasons and contradictions [-].

    Raises
    ------
    LabError
        When there is no evidence, or a weight is not above 0.

    Notes
    -----
    Intersection of intervals, weighted; our own rule. Strict bounds of ISO 8601-2:2019 throughout.

    Examples
    --------
    >>> seen = [Evidence("makers' name in use", read_edtf("1921/1938")), Evidence("old name", read_edtf("../1930"))]
    >>> combine_evidence(seen).edtf.text
    '1921/1930'
    """
    _refuse_bad_pieces(pieces)
    spans = _best_spans(pieces)
    supports = tuple(piece for piece in pieces if any(_allows(piece, *span) for span in spans))
    contradictions = tuple(piece for piece in pieces if piece not in supports)
    edtf = None if (FIRST, LAST) in spans else read_edtf(_text(spans))
    return DatedByEvidence(edtf, supports, contradictions, _words(edtf, supports, contradictions))


def _refuse_bad_pieces(pieces: Sequence[Evidence]) -> None:
    if not pieces:
        raise LabError(
            "no-evidence", "no evidence is given: enter at least one observation that limits the date."
        )
    for piece in pieces:
        if not 0 < piece.weight < 1e6:
            raise LabError(
                "evidence-weight",
                "the weight {weight} of '{reason}' cannot be: give a figure above 0, 1 for an ordinary piece.",
                weight=piece.weight,
                reason=piece.reason,
            )


def _ends(piece: Evidence) -> tuple[int, int]:
    first, last = piece.limits.earliest, piece.limits.latest
    return first.toordinal() if first else FIRST, last.toordinal() if last else LAST


def _allows(piece: Evidence, first: int, last: int) -> bool:
    start, end = _ends(piece)
    return start <= first and last <= end


def _best_spans(pieces: Sequence[Evidence]) -> list[tuple[int, int]]:
    """Find the spans of days that carry the most weight; several when they tie."""
    ends = [_ends(piece) for piece in pieces]
    cuts = sorted({FIRST, LAST + 1} | {start for start, _ in ends} | {end + 1 for _, end in ends})
    spans = [(cut, following - 1) for cut, following in pairwise(cuts)]
    weights = [sum(piece.weight for piece in pieces if _allows(piece, *span)) for span in spans]
    most = max(weights)
    return [span for span, weight in zip(spans, weights, strict=True) if most - weight < 1e-9]


def _text(spans: list[tuple[int, int]]) -> str:
    if len(spans) > 1:
        return f"[{', '.join(_span_text(*span, '..') for span in spans)}]"
    return _span_text(*spans[0], "/")


def _span_text(first: int, last: int, sign: str) -> str:
    """Write a span in EDTF, in whole years or months where it fills them."""
    start, end = date.fromordinal(first), date.fromordinal(last)
    following = end + timedelta(days=1) if last < LAST else None
    length = 10
    if start.day == 1 and (following is None or following.day == 1):
        length = 7
    if (start.month, start.day) == (1, 1) and (
        following is None or (following.month, following.day) == (1, 1)
    ):
        length = 4
    one, two = start.isoformat()[:length], end.isoformat()[:length]
    left = "" if sign == ".." else ".."
    if first == FIRST:
        return f"{left}{sign}{two}"
    if last == LAST:
        return f"{one}{sign}{left}"
    return one if one == two else f"{one}{sign}{two}"


def _words(
    edtf: EdtfDate | None, supports: tuple[Evidence, ...], contradictions: tuple[Evidence, ...]
) -> str:
    said = edtf.words if edtf else "any date"
    because = "; ".join(f"{piece.reason} ({piece.limits.words})" for piece in supports)
    text = f"Proposed: {said}, because of {because}."
    if contradictions:
        against = "; ".join(f"{piece.reason} ({piece.limits.words})" for piece in contradictions)
        text += f" Contradicted by {against}: look again before you decide."
    return text
