"""How much an unknown bottle is like one that is missing: what speaks for it, what against, and what to look at next.

Each observation weighs by how much likelier it is on this container than on any other: a log likelihood ratio. The
weights are starting values; common practice, no source. A likeness proves nothing: only a person may claim one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log, pi, sqrt

SIZE_SPREAD = 0.15  # how far a guess of the size goes, as a natural logarithm
LEVEL_SPREAD = 0.15  # how far a level by eye goes, as a share of the size
LEAST, MOST = -3.0, 3.0  # no single observation decides
VESSEL_SAME, VESSEL_OTHER = 1.2, -2.0
FORM_SAME, FORM_OTHER = 0.7, -2.5
PLACES = {"same": 2.0, "next": 1.0, "room": 0.0}
LEVELS = (0.1, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Looks:
    """What a bottle is like from outside; None where nobody could see it. Size in mL or g, level as a share of it."""

    size: float
    vessel: str
    is_liquid: bool | None = None
    level: float | None = None
    level_u: float = 0.0


@dataclass(frozen=True)
class Weighed:
    """The sum of what speaks for a container, with each reason in words."""

    score: float
    reasons: tuple[str, ...]


def weigh(seen: Looks, known: Looks, place: str) -> Weighed:
    """Compare what was seen with what the book says of a missing container.

    Parameters
    ----------
    seen : Looks
        The bottle as it was found [mL or g].
    known : Looks
        The missing container by the book [mL or g].
    place : str
        Where it last stood: "same", "next" to it, or elsewhere in the "room" [-].

    Returns
    -------
    Weighed
        Sum of the natural logarithms of the likelihood ratios, and the reasons [-].

    Notes
    -----
    Likelihood ratios of independent observations multiply (Bayes' theorem).

    Examples
    --------
    >>> found = Looks(100, "bottle", is_liquid=True, level=0.5)
    >>> weigh(found, Looks(100, "bottle", True, 0.5), "same").score > weigh(found, Looks(500, "jar", False, 1.0), "room").score
    True
    """
    said = [
        (PLACES[place], ""),
        _size(seen, known),
        _vessel(seen, known),
        _form(seen, known),
        _level(seen, known),
    ]
    return Weighed(sum(points for points, _ in said), tuple(words for _, words in said if words))


def next_look(seen: Looks, candidates: Sequence[tuple[Looks, str]]) -> str:
    """Name the one observation from outside that would best tell the candidates apart.

    Parameters
    ----------
    seen : Looks
        The bottle as far as it was looked at [mL or g].
    candidates : sequence of (Looks, str)
        Each missing container with where it last stood [mL or g].

    Returns
    -------
    str
        "form", "level", or nothing where neither would help [-].

    Notes
    -----
    The greatest expected drop of Shannon's entropy over the candidates. Only what is seen through closed glass is
    proposed; rule of this project.

    Examples
    --------
    >>> next_look(Looks(100, "bottle"), [(Looks(100, "bottle", True), "same"), (Looks(100, "bottle", False), "same")])
    'form'
    """
    gains = {
        "form": _gain(seen, candidates, [replace(seen, is_liquid=form) for form in (True, False)])
        if seen.is_liquid is None
        else 0.0,
        "level": _gain(seen, candidates, [replace(seen, level=level) for level in LEVELS])
        if seen.level is None
        else 0.0,
    }
    best = max(gains, key=lambda name: gains[name])
    return best if gains[best] > 0.05 else ""


def _gain(seen: Looks, candidates: Sequence[tuple[Looks, str]], answers: list[Looks]) -> float:
    """Return by how much the answers to one question are expected to lower the entropy [nat]."""
    before = _chances([weigh(seen, known, place).score for known, place in candidates])
    if len(before) < 2:
        return 0.0
    scores = [[weigh(answer, known, place).score for known, place in candidates] for answer in answers]
    # how likely each answer is on each candidate
    likely = [_chances(list(on_one)) for on_one in zip(*scores, strict=True)]
    expected = 0.0
    for i, answer in enumerate(scores):
        chance = sum(p * on_one[i] for p, on_one in zip(before, likely, strict=True))
        expected += chance * _entropy(_chances(answer))
    return _entropy(before) - expected


def _chances(scores: list[float]) -> list[float]:
    weights = [exp(score - max(scores)) for score in scores] if scores else []
    return [weight / sum(weights) for weight in weights]


def _entropy(chances: list[float]) -> float:
    return -sum(p * log(p) for p in chances if p > 0)


def _bell(off: float, spread: float, base: float) -> float:
    """Return the log ratio of a bell of this spread to an even chance over `base`."""
    return max(LEAST, min(MOST, log(base / (spread * sqrt(2 * pi))) - (off / spread) ** 2 / 2))


def _size(seen: Looks, known: Looks) -> tuple[float, str]:
    off = log(known.size / seen.size)
    words = (
        "same size"
        if abs(off) <= 0.1
        else "about the size"
        if abs(off) <= 2 * SIZE_SPREAD
        else "but another size"
    )
    return _bell(off, SIZE_SPREAD, log(200)), words


def _vessel(seen: Looks, known: Looks) -> tuple[float, str]:
    if seen.vessel == known.vessel:
        return VESSEL_SAME, f"a {known.vessel} too"
    return VESSEL_OTHER, f"but a {known.vessel}"


def _form(seen: Looks, known: Looks) -> tuple[float, str]:
    if seen.is_liquid is None or known.is_liquid is None:
        return 0.0, ""
    word = "liquid" if known.is_liquid else "solid"
    return (
        (FORM_SAME, f"a {word} too") if seen.is_liquid == known.is_liquid else (FORM_OTHER, f"but a {word}")
    )


def _level(seen: Looks, known: Looks) -> tuple[float, str]:
    if seen.level is None or known.level is None:
        return 0.0, ""
    off, spread = seen.level - known.level, sqrt(LEVEL_SPREAD**2 + known.level_u**2)
    share = f"{known.level * 100:.0f} % full by the book"
    return _bell(off, spread, 1.0), share if abs(off) <= 2 * spread else f"but {share}"
