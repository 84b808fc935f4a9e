"""Single strokes of a drawing: numbers, words, frames. Everything returns SVG text without style attributes."""

from collections.abc import Iterable
from html import escape
from math import floor, log10

NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"


def n(x: float) -> str:
    """Write a coordinate with at most two decimals.

    Parameters
    ----------
    x : float
        A coordinate [user units].

    Returns
    -------
    str
        Its shortest form [user units].

    Examples
    --------
    >>> n(12.5), n(3.0), n(-0.001)
    ('12.5', '3', '0')
    """
    text = f"{x:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def figure(amount: float, decimals: int | None = None) -> str:
    """Write an amount for the eye: true minus sign, no exponent, no empty decimals.

    Parameters
    ----------
    amount : float
        The amount [any unit].
    decimals : int, optional
        Fixed number of decimals; without it, at most five figures are kept [-].

    Returns
    -------
    str
        The amount in figures [unit of `amount`].

    Examples
    --------
    >>> figure(12.0), figure(-0.25), figure(53.04, 1), figure(1234567)
    ('12', '−0.25', '53.0', '1234567')
    """
    if decimals is None:
        size = floor(log10(abs(amount))) if amount else 0
        decimals = max(0, 4 - size)
        text = f"{amount:.{decimals}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    else:
        text = f"{amount:.{decimals}f}"
    return text.replace("-", MINUS)


def decimals_for(u: float) -> int:
    """Find how many decimals show two figures of ± 2u.

    Parameters
    ----------
    u : float
        Standard uncertainty, above 0 [any unit].

    Returns
    -------
    int
        Number of decimals, 0 to 6 [-].

    Notes
    -----
    Source: JCGM 100:2008, 7.2.6 (at most two significant figures of the uncertainty).

    Examples
    --------
    >>> decimals_for(1.2), decimals_for(0.05), decimals_for(40)
    (1, 2, 0)
    """
    return min(6, max(0, 1 - floor(log10(2 * u)))) if u > 0 else 1


def text(x: float, y: float, words: str, css: str = "c-text", anchor: str = "start") -> str:
    """Set a line of words.

    Parameters
    ----------
    x, y : float
        Where the base line begins, or its middle or end as `anchor` says [user units].
    words : str
        The words; they are escaped here [-].
    css : str
        Class of the text [-].
    anchor : str
        "start", "middle" or "end" [-].

    Returns
    -------
    str
        One SVG text element [-].

    Examples
    --------
    >>> text(1, 2, "< 1 %")
    '<text class="c-text" x="1" y="2">&lt; 1 %</text>'
    """
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text class="{css}" x="{n(x)}" y="{n(y)}"{where}>{escape(words)}</text>'


def path(d: str, css: str) -> str:
    """Draw a path.

    Parameters
    ----------
    d : str
        Path data [user units].
    css : str
        Class of the path [-].

    Returns
    -------
    str
        One SVG path element [-].

    Examples
    --------
    >>> path("M0 0H4", "c-axis")
    '<path class="c-axis" d="M0 0H4"/>'
    """
    return f'<path class="{css}" d="{d}"/>'


def rect(x: float, y: float, width: float, height: float, css: str = "", opacity: float | None = None) -> str:
    """Draw a rectangle; a negative size is drawn as none.

    Parameters
    ----------
    x, y, width, height : float
        Upper left corner and size [user units].
    css : str
        Class, none if empty [-].
    opacity : float, optional
        Strength of the tone, 0 to 1 [-].

    Returns
    -------
    str
        One SVG rect element [-].

    Examples
    --------
    >>> rect(0, 0, 4, -1, "v-body")
    '<rect class="v-body" x="0" y="0" width="4" height="0"/>'
    """
    named = f' class="{css}"' if css else ""
    tone = "" if opacity is None else f' fill-opacity="{n(opacity)}"'
    return (
        f'<rect{named} x="{n(x)}" y="{n(y)}" width="{n(max(width, 0))}" height="{n(max(height, 0))}"{tone}/>'
    )


def frame(body: str, box: tuple[float, float, float, float], said: str, css: str) -> str:
    """Put a drawing into its frame, with the words a screen reader says.

    Parameters
    ----------
    body : str
        The strokes [-].
    box : tuple of float
        Left, top, width and height that are shown [user units].
    said : str
        What the picture says, in words; they are escaped here [-].
    css : str
        Class of the frame [-].

    Returns
    -------
    str
        One SVG element with role "img" [-].

    Examples
    --------
    >>> frame("", (0, 0, 10, 5), "nothing", "chart")
    '<svg class="chart" viewBox="0 0 10 5" role="img" aria-label="nothing"></svg>'
    """
    edges = " ".join(n(edge) for edge in box)
    return f'<svg class="{css}" viewBox="{edges}" role="img" aria-label="{escape(said)}">{body}</svg>'


def two_cuts(narrow: str, wide: str) -> str:
    """Join the narrow and the wide cut of one picture; the room on the page decides which is seen.

    Parameters
    ----------
    narrow, wide : str
        Two frames of class ``chart--narrow`` and ``chart--wide`` [-].

    Returns
    -------
    str
        Both, narrow first [-].

    Examples
    --------
    >>> two_cuts("<svg/>", "<svg/>")
    '<svg/><svg/>'
    """
    return narrow + wide


def width_of(words: str, per_letter: float = 6.7) -> float:
    """Estimate the room that words of 12.5 units take in an ordinary face.

    Parameters
    ----------
    words : str
        The words [-].
    per_letter : float
        Mean width of a letter, 6.7 for 12.5 unit text (measured on three faces) [user units].

    Returns
    -------
    float
        Estimated width [user units].

    Examples
    --------
    >>> width_of("mL")
    13.4
    """
    return len(words) * per_letter


def steps_of(low: float, high: float, about: int = 5) -> list[float]:
    """Choose round values for the marks of an axis: steps of 1, 2 or 5 and powers of ten.

    Parameters
    ----------
    low, high : float
        Ends of the axis, high above low [any unit].
    about : int
        How many steps are wanted, at most [-].

    Returns
    -------
    list of float
        The round values from `low` to `high` [unit of `low`].

    Examples
    --------
    >>> steps_of(0, 100), steps_of(0, 2.5)
    ([0.0, 20.0, 40.0, 60.0, 80.0, 100.0], [0.0, 0.5, 1.0, 1.5, 2.0, 2.5])
    """
    rough = (high - low) / about
    power = 10.0 ** floor(log10(rough))
    step = next(power * k for k in (1, 2, 5, 10) if power * k >= rough * (1 - 1e-9))
    first = int(-(-(low - step * 1e-9) // step))
    count = int((high - first * step) / step + 1e-9) + 1
    return [round((first + i) * step, 10) for i in range(count)]


def join(parts: Iterable[str]) -> str:
    """Lay strokes one after another, the last on top.

    Parameters
    ----------
    parts : iterable of str
        SVG elements [-].

    Returns
    -------
    str
        All of them [-].

    Examples
    --------
    >>> join(["<a/>", "<b/>"])
    '<a/><b/>'
    """
    return "".join(parts)
