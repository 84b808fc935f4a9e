"""What is in a vessel, and how it is said."""

from dataclasses import dataclass

from labstock.look.drawing.doubt import REACH
from labstock.look.drawing.glass import Glass
from labstock.look.drawing.strokes import decimals_for, figure

STATES = ("", "unknown", "away", "gone")
"""As usual; amount not known; not seen; disposed of."""

OVERFULL = 1.06
"""What is more than full is drawn no higher than this."""


@dataclass(frozen=True)
class Content:
    """What is in a vessel, all in one unit.

    Parameters
    ----------
    m : float
        Best amount [`unit`].
    u : float
        Standard uncertainty of `m` [`unit`].
    capacity : float, optional
        Amount that fills it; None where nobody knows [`unit`].
    heel : float
        Part that cannot be got out [`unit`].
    held : float
        Part promised to others [`unit`].
    mine : float
        Part promised to the reader [`unit`].
    unit : str
        The unit of all of them [-].
    """

    m: float
    u: float = 0
    capacity: float | None = None
    heel: float = 0
    held: float = 0
    mine: float = 0
    unit: str = "mL"

    @property
    def full(self) -> float:
        """The amount drawn as full: the capacity, or a little more than may be there."""
        return self.capacity or max((self.m + REACH * self.u) * 1.1, 1e-9)


@dataclass(frozen=True)
class Note:
    """A call-out beside the large vessel.

    Parameters
    ----------
    at : float
        Amount at which the leader points [unit of the content].
    figure : str
        Big words, mostly the amount with its unit [-].
    doubt : str
        What follows in lighter type, mostly "± 2.4 mL" [-].
    words : str
        The line below [-].
    is_mine : bool
        Whether it belongs to the reader [-].
    """

    at: float
    figure: str
    doubt: str = ""
    words: str = ""
    is_mine: bool = False


def height_of(glass: Glass, content: Content, a: float) -> float:
    """Find how high an amount stands.

    Parameters
    ----------
    glass : Glass
        The vessel [user units].
    content : Content
        Whose capacity counts [its unit].
    a : float
        The amount [unit of the content].

    Returns
    -------
    float
        Its height on the page, counted downwards [user units].

    Examples
    --------
    >>> from labstock.look.drawing.glass import GLASS
    >>> height_of(GLASS["bottle"], Content(0, 0, 100), 50)
    90.5
    """
    share = max(0, min(a / content.full, OVERFULL))
    return glass.bottom - (glass.bottom - glass.top) * share


def speak(kind: str, content: Content, state: str = "") -> str:
    """Say in words what a vessel shows.

    Parameters
    ----------
    kind : str
        Kind of vessel [-].
    content : Content
        What is in it [its unit].
    state : str
        One of `STATES` [-].

    Returns
    -------
    str
        One line [-].

    Examples
    --------
    >>> speak("jar", Content(46, 0.5, 100, heel=0.03, held=4.8, unit="g"))
    'Jar, 46.0 of 100 g; plus or minus 1.0; 4.8 held by others; 0.03 cannot be got out'
    """
    if state == "unknown":
        return f"{kind.capitalize()}, amount not known"
    if state == "gone":
        return f"{kind.capitalize()}, disposed of"
    of = f" of {figure(content.capacity)}" if content.capacity else ""
    digits = decimals_for(content.u) if content.u else None
    bits = [f"{kind.capitalize()}, {figure(content.m, digits)}{of} {content.unit}"]
    if digits is not None:
        bits.append(f"plus or minus {figure(2 * content.u, digits)}")
    for amount, words in (
        (content.held, "held by others"),
        (content.mine, "held for you"),
        (content.heel, "cannot be got out"),
    ):
        if amount:
            bits.append(f"{figure(amount)} {words}")
    if state == "away":
        bits.append("not seen")
    return "; ".join(bits)
