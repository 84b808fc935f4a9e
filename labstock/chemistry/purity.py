"""What a label, a certificate or an assay claims about purity, as a distribution.

"≥ 98 %" is neither 98 nor 100: it is anything between, and that doubt travels on.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact, normal, rectangle

KINDS = ("certificate", "assay", "at least", "nominal", "unknown")
"""Kinds of claim, the most trusted first; a newer valid assay goes before a certificate."""

BASES = {
    "w/w": "",
    "titration": ", by titration",
    "dried": ", on the dried substance",
    "area": ", area % taken as w/w",
}
NOMINAL_HALF_WIDTH_PERCENT = 1.0
MOST_PERCENT = 105.0


@dataclass(frozen=True)
class Claim:
    """One statement about the purity of a lot.

    Parameters
    ----------
    kind : str
        "certificate", "assay", "at least", "nominal" (only a grade or a name promises it) or "unknown" [-].
    percent : float, optional
        The number stated [%].
    u : float, optional
        Standard uncertainty of that number; for "99.7 ± 0.2 %" with k = 2 it is 0.1 [% (points)].
    basis : str
        "w/w", "titration", "dried" (on the dried substance) or "area" (of a chromatogram) [-].

    Notes
    -----
    "At least" is a rectangle from the number to 100 % (JCGM 100:2008, 4.3.7). "Nominal" is a rectangle as
    wide to each side as the number is from 100 %, at least one point (common practice, no source): a bottle
    marked only "reagent grade", entered as 97 %, is 94 to 100 %.

    Examples
    --------
    >>> fraction = Claim("at least", 98).fraction
    >>> fraction.n, round(fraction.s, 4)
    (0.99, 0.0058)
    """

    kind: str
    percent: float | None = None
    u: float | None = None
    basis: str = "w/w"

    def __post_init__(self) -> None:
        _check_kind_and_basis(self)
        if self.kind != "unknown":
            _check_number(self)

    @property
    def fraction(self) -> UFloat:
        """Effective purity, w/w, as far as this claim tells it [g/g]."""
        if self.percent is None:
            raise LabError(
                "purity-unknown",
                "No purity is on record for this lot: enter what the label or certificate says, "
                "or choose to take it as pure.",
            )
        if self.kind == "at least":
            return rectangle(self.percent / 100, 1, "purity")
        if self.kind == "nominal":
            return _nominal(self.percent)
        return normal(self.percent / 100, (self.u or 0) / 100, "purity")

    @property
    def words(self) -> str:
        """The claim as a chemist writes it [-]."""
        if self.percent is None:
            return "purity not stated"
        number = _number_with_doubt(self.percent, self.u)
        tail = BASES[self.basis]
        return {
            "at least": f"≥\u00a0{self.percent:g}\u00a0%{tail}",
            "nominal": f"about {self.percent:g}\u00a0% by grade only{tail}",
            "certificate": f"{number} by certificate{tail}",
            "assay": f"{number} by assay{tail}",
        }[self.kind]


@dataclass(frozen=True)
class DatedClaim:
    """A claim with the day it was found and the day it stops being trusted.

    Parameters
    ----------
    claim : Claim
        The claim [-].
    found_on : date, optional
        Day of the certificate or the assay; None when nobody wrote it down [-].
    valid_until : date, optional
        Last day it is trusted; None for no end [-].
    """

    claim: Claim
    found_on: date | None = None
    valid_until: date | None = None

    def is_valid(self, on: date) -> bool:
        """Tell whether the claim may be used on a day.

        Parameters
        ----------
        on : date
            The day [-].

        Returns
        -------
        bool
            True from the day it was found to the last day it is trusted [-].
        """
        has_begun = self.found_on is None or self.found_on <= on
        return has_begun and (self.valid_until is None or on <= self.valid_until)


class Model(Protocol):
    """What lowers a purity between the claim and today, such as moisture."""

    @property
    def since(self) -> date | None:
        """First day that the model counts [-]."""

    @property
    def words(self) -> str:
        """What the model counts, in words [-]."""

    def fraction_after(self, fraction: UFloat) -> UFloat:
        """Give the purity now, from the purity then.

        Parameters
        ----------
        fraction : UFloat
            Purity then, w/w [g/g].

        Returns
        -------
        UFloat
            Purity now, w/w [g/g].
        """


@dataclass(frozen=True)
class Effective:
    """The purity that amounts are worked out with.

    Parameters
    ----------
    fraction : UFloat
        Effective purity, w/w [g/g].
    words : str
        Where it comes from [-].
    is_model : bool
        True when a model, not a measurement, stands behind it [-].
    """

    fraction: UFloat
    words: str
    is_model: bool = False


def newest_valid(claims: Iterable[DatedClaim], on: date) -> DatedClaim | None:
    """Choose the claim to trust on a day.

    The newest valid assay wins; without one the order of trust is certificate, "at least", nominal, and
    among equals the newest.

    Parameters
    ----------
    claims : iterable of DatedClaim
        All claims about the lot or container [-].
    on : date
        The day of use [-].

    Returns
    -------
    DatedClaim or None
        The claim; None when nothing valid is known [-].

    Notes
    -----
    Source: common practice, no source.

    Examples
    --------
    >>> label = DatedClaim(Claim("at least", 98))
    >>> old = DatedClaim(Claim("assay", 97.1, 0.2), date(2026, 3, 1))
    >>> new = DatedClaim(Claim("assay", 93.6, 0.2), date(2026, 10, 1))
    >>> newest_valid([new, label, old], date(2026, 11, 25)).claim.percent
    93.6
    """
    valid = [dated for dated in claims if dated.claim.percent is not None and dated.is_valid(on)]
    trust = {"assay": 3, "certificate": 2, "at least": 1, "nominal": 0}
    return max(valid, key=lambda d: (trust[d.claim.kind], d.found_on or date.min), default=None)


def effective(
    claims: Sequence[DatedClaim | Claim], moisture_model: Model | None = None, *, on: date | None = None
) -> Effective:
    """Find the purity to work with: the claim most trusted, carried to today by a model where there is one.

    A model that counts from before the assay would count the same water twice and is left out.

    Parameters
    ----------
    claims : sequence of DatedClaim or Claim
        What is known about the lot or container [-].
    moisture_model : Model, optional
        What happened to the container since the claim [-].
    on : date, optional
        The day of use; None takes every claim as valid [-].

    Returns
    -------
    Effective
        Fraction [g/g], its source in words, and whether it is a model [-].

    Notes
    -----
    Source: common practice, no source.

    Examples
    --------
    >>> effective([Claim("certificate", 99.7, 0.1)]).words
    '99.7\\xa0±\\xa00.2\\xa0% by certificate'
    """
    dated = [claim if isinstance(claim, DatedClaim) else DatedClaim(claim) for claim in claims]
    if on is None:
        dated, on = [DatedClaim(each.claim, each.found_on) for each in dated], date.max
    anchor = newest_valid(dated, on)
    if anchor is None:
        raise LabError(
            "purity-unknown",
            "No valid purity is on record for this lot{on}: enter what the label or certificate says, "
            "measure it, or choose to take it as pure.",
            on="" if on == date.max else f" on {on:%Y-%m-%d}",
        )
    claim = anchor.claim
    if moisture_model is None or _counts_twice(anchor, moisture_model):
        return Effective(claim.fraction, claim.words)
    now = moisture_model.fraction_after(claim.fraction)
    return Effective(now, f"{claim.words}, then {moisture_model.words}", is_model=True)


def taken_as_pure() -> Effective:
    """Give the purity for a lot whose purity nobody knows, by the chemist's own choice.

    Returns
    -------
    Effective
        1 without doubt, saying that it is assumed [g/g].

    Notes
    -----
    Source: ours; the person chooses it, the words say so.

    Examples
    --------
    >>> taken_as_pure().words
    'taken as 100\\xa0%: no purity on record'
    """
    return Effective(exact(1), "taken as 100\u00a0%: no purity on record")


def as_is(fraction_dried: UFloat, loss_on_drying: UFloat) -> UFloat:
    """Turn a purity on the dried substance into that of the material in the bottle.

    Parameters
    ----------
    fraction_dried : UFloat
        Purity on the dried substance [g/g].
    loss_on_drying : UFloat
        Loss on drying of the material as it is [g/g].

    Returns
    -------
    UFloat
        Purity of the material as it is [g/g].

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> round(as_is(exact(0.995), exact(0.004)).n, 5)
    0.99102
    """
    if not 0 <= loss_on_drying.n < 1:
        raise LabError(
            "bad-loss",
            "A loss on drying of {percent:g}\u00a0% cannot be: it lies between 0 and 100\u00a0%.",
            percent=loss_on_drying.n * 100,
        )
    return fraction_dried * (1 - loss_on_drying)


def _check_kind_and_basis(claim: Claim) -> None:
    if claim.kind not in KINDS:
        raise LabError(
            "purity-kind",
            'A purity of the kind "{kind}" is not known: choose one of {kinds}.',
            kind=claim.kind,
            kinds=", ".join(KINDS),
        )
    if claim.basis not in BASES:
        raise LabError(
            "purity-basis",
            "A purity in % {basis} is not a mass fraction: give it w/w, or enter the concentration in mol/L.",
            basis=claim.basis,
        )


def _check_number(claim: Claim) -> None:
    percent = claim.percent
    if percent is None:
        raise LabError(
            "purity-missing",
            'The kind "{kind}" needs a number in %: enter it, or choose "unknown".',
            kind=claim.kind,
        )
    most = MOST_PERCENT if claim.kind in ("certificate", "assay") else 100.0
    if not 0 < percent <= most:
        raise LabError(
            "purity-range",
            "A purity of {percent:g}\u00a0% cannot be: it lies above 0 and not over {most:g}\u00a0%. Correct the number.",
            percent=percent,
            most=most,
        )
    if claim.kind == "at least" and percent < 50:
        raise LabError(
            "purity-says-nothing",
            "≥\u00a0{percent:g}\u00a0% says almost nothing (anything up to 100\u00a0%): "
            "write 98 for 98\u00a0%, or enter the concentration of a solution in mol/L.",
            percent=percent,
        )
    if claim.u is not None and not 0 <= claim.u <= 50:
        raise LabError(
            "purity-uncertainty",
            "A standard uncertainty of {u:g} percentage points cannot be: it lies between 0 and 50.",
            u=claim.u,
        )


def _nominal(percent: float) -> UFloat:
    half = max(100 - percent, NOMINAL_HALF_WIDTH_PERCENT)
    return rectangle(max(percent - half, 0) / 100, min(percent + half, 100) / 100, "purity")


def _number_with_doubt(percent: float, u: float | None) -> str:
    """Print the number with U = 2u, with two figures of U unless one says it exactly."""
    if not u:
        return f"{percent:g}\u00a0%"
    doubled = float(f"{2 * u:.2g}")
    decimals = len(f"{doubled:.10f}".rstrip("0").partition(".")[2])
    return f"{percent:.{decimals}f}\u00a0±\u00a0{doubled:.{decimals}f}\u00a0%"


def _counts_twice(anchor: DatedClaim, model: Model) -> bool:
    if anchor.claim.kind != "assay":
        return False
    return model.since is None or (anchor.found_on is not None and model.since < anchor.found_on)
