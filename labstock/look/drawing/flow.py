"""What went into a batch and what came out of it, each with its vessel."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from labstock.look.drawing.content import Content
from labstock.look.drawing.strokes import n, path, text
from labstock.look.drawing.vessel import outlined

_ROW = 88
_WIDTH = 820


@dataclass(frozen=True)
class Vessel:
    """A container at one end of the flow.

    Parameters
    ----------
    name, code, amount : str
        What it holds, its short code, and how much went in or came out, with unit [-].
    kind : str
        Kind of vessel [-].
    content : Content
        What is in it now [its unit].
    url : str
        Its page; empty where it has none [-].
    """

    name: str
    code: str
    amount: str
    kind: str
    content: Content
    url: str = ""


def flow(went_in: Sequence[Vessel], came_out: Sequence[Vessel], name: str, day: str) -> str:
    """Draw a batch between its containers, for wide pages; narrow pages list them.

    Parameters
    ----------
    went_in, came_out : sequence of Vessel
        Containers on the left and on the right [-].
    name, day : str
        What stands in the middle [-].

    Returns
    -------
    str
        One SVG element whose vessels are links [-].

    Examples
    --------
    >>> aniline = Vessel("Aniline", "TQ 4733 S", "5.61 g", "bottle", Content(141, 0.3, 250))
    >>> flow([aniline], [], "Batch 26-117", "24 Nov 2026").count("g-edge")
    1
    """
    rows = max(len(went_in), len(came_out), 1)
    height = rows * _ROW + 12
    middle = height / 2
    drawn = [_side(went_in, rows, middle, is_left=True), _side(came_out, rows, middle, is_left=False)]
    drawn.append(
        f'<rect class="g-node g-node--here" x="346" y="{n(middle - 36)}" width="140" height="72" rx="2"/>'
        + text(416, middle - 6, name, "g-amount", "middle")
        + text(416, middle + 14, day, "g-text", "middle")
    )
    said = f"{len(went_in)} containers went into {name}; {len(came_out)} came out of it"
    return (
        f'<svg class="chart flow__wide" viewBox="0 0 {_WIDTH} {n(height)}" role="group" aria-label="{escape(said)}">'
        f"{''.join(drawn)}</svg>"
    )


def _side(vessels: Sequence[Vessel], rows: int, middle: float, is_left: bool) -> str:
    start = (rows - len(vessels)) * _ROW / 2 + 30
    drawn = []
    for i, vessel in enumerate(vessels):
        y = start + i * _ROW
        x, end = (0, 232) if is_left else (588, _WIDTH)
        if is_left:
            curve = f"M240 {n(y + 12)}C300 {n(y + 12)} 290 {n(middle)} 346 {n(middle)}"
        else:
            curve = f"M486 {n(middle)}C540 {n(middle)} 530 {n(y + 12)} 580 {n(y + 12)}"
        drawn.append(path(curve, "g-edge") + _vessel(vessel, x, end, y))
    return "".join(drawn)


def _vessel(vessel: Vessel, x: float, end: float, y: float) -> str:
    strokes = outlined(vessel.kind, vessel.content, is_large=False)
    drawn = (
        f'<g transform="translate({n(x)} {n(y - 26)}) scale(.5)">{strokes}</g>'
        + text(x + 58, y + 6, _cut_off(vessel.name), "g-name")
        + text(x + 58, y + 25, vessel.code, "g-text")
        + text(end, y + 25, vessel.amount, "g-amount", "end")
    )
    return f'<a class="g-link" href="{escape(vessel.url)}">{drawn}</a>' if vessel.url else drawn


def _cut_off(name: str, letters: int = 22) -> str:
    return name if len(name) <= letters else name[: letters - 1].rstrip() + "…"
