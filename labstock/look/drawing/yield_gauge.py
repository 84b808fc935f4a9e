"""A yield on a line of per cent, over the range the lab usually gets."""

from math import floor

from labstock.look.drawing.doubt import uprights
from labstock.look.drawing.strokes import decimals_for, figure, frame, n, path, rect, text, two_cuts

_AXIS = 62


def yield_gauge(
    percent: float, u: float = 0, usual: tuple[float, float] | None = None, usual_words: str = ""
) -> str:
    """Draw a yield with its doubt.

    Parameters
    ----------
    percent : float
        Yield, of theory [%].
    u : float
        Standard uncertainty of it [%].
    usual : tuple of float, optional
        Least and greatest yield of earlier runs [%].
    usual_words : str
        What stands over that range [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> "73.90 ± 0.80 %" in yield_gauge(73.9, 0.4, (67, 85), "own history, 67 to 85 %")
    True
    """
    digits = decimals_for(u) if u > 0 else 1
    doubt = f" ± {figure(2 * u, digits)}" if u > 0 else ""
    said = f"Yield {figure(percent, digits)}{doubt} % of theory"
    if usual:
        said += f"; earlier runs gave {figure(usual[0])} to {figure(usual[1])} %"
    cuts = [
        frame(_cut(percent, u, usual, usual_words, width), (0, 0, width, 86), said, f"gauge chart--{css}")
        for width, css in ((358, "narrow"), (820, "wide"))
    ]
    return two_cuts(*cuts)


def _cut(percent: float, u: float, usual: tuple[float, float] | None, words: str, width: float) -> str:
    low, high = _limits(percent, u, usual)
    x_of = lambda p: 2 + (width - 4) * (p - low) / (high - low)  # noqa: E731  one line reads better here
    drawn = []
    if usual:
        left, right = x_of(usual[0]), x_of(usual[1])
        drawn.append(rect(left, 26, right - left, 18, "c-soft"))
        drawn.append(path(f"M{n(left)} 22v26M{n(right)} 22v26", "c-axis"))
        drawn.append(text(max(2, min(left, width - 6.8 * len(words))), 15, words))
    drawn.append(path(f"M2 {_AXIS}H{n(width - 2)}", "c-axis"))
    step = 10 if high - low <= 70 else 20
    for mark in range(int(low), int(high) + 1, step):
        anchor = "start" if mark == low else "end" if mark == high else "middle"
        drawn.append(path(f"M{n(x_of(mark))} {_AXIS}v5", "c-tick"))
        drawn.append(text(x_of(mark), 81, f"{mark} %" if mark == high else f"{mark}", "c-text", anchor))
    if low < 100 < high:
        drawn.append(path(f"M{n(x_of(100))} 22V{_AXIS}", "c-limit"))
    if u > 0:
        drawn.append(uprights(x_of, (percent, u), 28, 34, (low, high)))
    drawn.append(path(f"M{n(x_of(percent))} 20V{_AXIS}", "c-axis"))
    return "".join(drawn)


def _limits(percent: float, u: float, usual: tuple[float, float] | None) -> tuple[int, int]:
    least = min(percent - 3 * u, usual[0] if usual else percent)
    most = max(percent + 3 * u, usual[1] if usual else percent, 100)
    low = 50 if least >= 55 else 0
    high = 100 if most <= 100 else floor(most / 20) * 20 + 20
    return low, high
