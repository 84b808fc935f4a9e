"""The drawn vessel, our signature: level, heel, what is promised, and the band of doubt."""

from collections.abc import Sequence

from labstock.look.drawing.content import OVERFULL, Content, Note, height_of, speak
from labstock.look.drawing.doubt import REACH, upright_band
from labstock.look.drawing.glass import Glass, glass_of
from labstock.look.drawing.strokes import frame, n, path, rect
from labstock.look.drawing.vessel_large import vessel_large
from labstock.look.drawing.vessel_small import vessel_small


def vessel(
    kind: str,
    content: Content,
    size: str = "m",
    sealed: bool = False,
    state: str = "",
    label: str = "",
    notes: Sequence[Note] | None = None,
) -> str:
    """Draw a vessel.

    Parameters
    ----------
    kind : str
        "bottle", "vial", "ampoule", "jar", "tube" or "drum" [-].
    content : Content
        What is in it [its unit].
    size : str
        "s" for 16 px in a line of text, "m" for 64 px, "l" for 318 px with call-outs [-].
    sealed : bool
        Whether the seal is unbroken [-].
    state : str
        One of `STATES` [-].
    label : str
        Words for a screen reader in place of the usual ones [-].
    notes : sequence of Note, optional
        Call-outs of the large size in place of the usual ones [-].

    Returns
    -------
    str
        One SVG element [-].

    Examples
    --------
    >>> "plus or minus 2.4" in vessel("bottle", Content(53, 1.2, 100))
    True
    """
    said = label or speak(kind, content, state)
    if size == "s":
        return vessel_small(kind, content, said, state)
    drawn = outlined(kind, content, is_large=size == "l", sealed=sealed, state=state)
    if size == "l":
        return vessel_large(kind, content, drawn, said, state, notes)
    return frame(drawn, (8, 0, 84, 136), said, "vessel vessel--m")


def outlined(kind: str, content: Content, is_large: bool, sealed: bool = False, state: str = "") -> str:
    """Draw glass, closure and contents in the box of 100 x 140, without a frame.

    Parameters
    ----------
    kind : str
        Kind of vessel [-].
    content : Content
        What is in it [its unit].
    is_large : bool
        Whether to draw the finer ruling and the scale [-].
    sealed : bool
        Whether the seal is unbroken [-].
    state : str
        One of `STATES` [-].

    Returns
    -------
    str
        The strokes [-].

    Examples
    --------
    >>> "v-glass--away" in outlined("vial", Content(1, 0, 2), is_large=False, state="away")
    True
    """
    glass = glass_of(kind)
    if state == "unknown":
        middle = (glass.top + glass.bottom) / 2 + 12
        inside = f'<text class="v-ask" x="50" y="{n(middle)}">?</text>'
    else:
        inside = _contents(glass, content, is_large)
        inside += _scale(glass, content) if is_large else ""
    dashed = " v-glass--away" if state == "away" else ""
    strike = path("M10 132L90 20", "v-strike") if state == "gone" else ""
    return (
        f'<g clip-path="url(#in-{kind})">{inside}</g>{_closure(glass, sealed)}'
        f"{path(glass.glass, 'v-glass' + dashed)}{strike}"
    )


def _contents(glass: Glass, content: Content, is_large: bool) -> str:
    x, width = glass.left - 3, glass.right - glass.left + 6
    sure = height_of(glass, content, content.m - REACH * content.u)
    drawn = [rect(x, sure, width, 132 - sure, "v-body")]
    floor = glass.bottom
    for amount, css in ((content.heel, "v-heel"), (content.held, "v-held"), (content.mine, "v-mine")):
        if amount > 0 and (content.m > 0 or css != "v-heel"):
            tall = (glass.bottom - glass.top) * min(amount / content.full, OVERFULL)
            if css == "v-heel":
                tall = max(3.2 if is_large else 4, tall)
            below = 4 if css == "v-heel" else 0
            drawn.append(rect(x, floor - tall, width, tall + below, css))
            floor -= tall
            drawn.append(path(f"M{n(x)} {n(floor)}h{n(width)}", "v-line"))
    if content.u > 0:
        limits = (0.0, content.full * 1.04)
        amount_and_doubt = (min(content.m, limits[1]), content.u)
        y_of = lambda a: height_of(glass, content, a)  # noqa: E731  one line reads better here
        drawn.append(upright_band(x, width, y_of, amount_and_doubt, limits, 1.5 if is_large else 3).drawn)
    drawn.append(path(f"M{n(x)} {n(height_of(glass, content, content.m))}h{n(width)}", "v-level"))
    return "".join(drawn)


def _scale(glass: Glass, content: Content) -> str:
    if not content.capacity:
        return ""
    ticks = []
    for tenth in range(1, 11):
        y = height_of(glass, content, content.capacity * tenth / 10)
        ticks.append(path(f"M{n(glass.left - 1)} {n(y)}h{5 if tenth % 5 else 9}", "v-tick"))
    return "".join(ticks)


def _closure(glass: Glass, sealed: bool) -> str:
    if not glass.cap:
        return path(glass.ribs, "v-rib")
    if sealed:
        return path(glass.cap, "v-cap v-cap--sealed")
    return path(glass.cap, "v-cap") + (path(glass.ribs, "v-rib") if glass.ribs else "")
