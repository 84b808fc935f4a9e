"""The vessel at 2.2 times, with call-outs and the loupe."""

from collections.abc import Sequence
from html import escape

from labstock.look.drawing.content import Content, Note, height_of
from labstock.look.drawing.doubt import REACH, upright_band
from labstock.look.drawing.glass import LOUPE, Glass, glass_of
from labstock.look.drawing.strokes import NO_BREAK, decimals_for, figure, frame, n, path, rect

TIMES = 2.2
HEIGHT = 318
_GAP = 43
_FIRST_UNDER_LOUPE = 110
_LONGEST = 13
"""Letters of the big type that fit beside the widest vessel."""


def vessel_large(
    kind: str, content: Content, drawn: str, said: str, state: str = "", notes: Sequence[Note] | None = None
) -> str:
    """Put the drawing into its frame with call-outs on the right, the topmost first.

    Parameters
    ----------
    kind : str
        Kind of vessel [-].
    content : Content
        What is in it [its unit].
    drawn : str
        Strokes from `vessel.outlined` [-].
    said : str
        Words for a screen reader [-].
    state : str
        One of `content.STATES` [-].
    notes : sequence of Note, optional
        Call-outs; the usual ones without them [-].

    Returns
    -------
    str
        One SVG element [-].

    Examples
    --------
    >>> drawing = vessel_large("bottle", Content(53, 1.2, 100), "", "Bottle")
    >>> "55.4" in drawing and "50.6" in drawing
    True
    """
    glass = glass_of(kind)
    is_known = state not in ("unknown", "gone")
    if notes is None:
        notes = usual_notes(content) if is_known else ()
    loupe = _loupe(glass, content) if content.u > 0 and is_known else ""
    aims = [height_of(glass, content, note.at) * TIMES for note in notes]
    places = spread(aims, has_loupe=bool(loupe))
    words = [
        _call_out(glass, note, aim, y, under_loupe=bool(loupe) and i == 0)
        for i, (note, aim, y) in enumerate(zip(notes, aims, places, strict=True))
    ]
    body = f'{loupe}<g transform="scale({TIMES})">{drawn}</g>{"".join(words)}'
    return frame(body, (26, 0, 318, HEIGHT), said, "vessel vessel--l")


def usual_notes(content: Content) -> list[Note]:
    """Name the parts of the contents: in it, free, yours, held, out of reach.

    Parameters
    ----------
    content : Content
        What is in the vessel [its unit].

    Returns
    -------
    list of Note
        The topmost first; parts that are not there are left out [-].

    Examples
    --------
    >>> [note.words for note in usual_notes(Content(53, 1.2, 100, heel=1.5, held=12))]
    ['in it, 95 % sure', 'free', 'held by others', 'cannot be got out']
    """
    digits = decimals_for(content.u) if content.u else None
    tie = NO_BREAK + content.unit
    amount = figure(content.m, digits) + ("" if content.u else tie)
    doubt = f"±{NO_BREAK}{figure(2 * content.u, digits)}{tie}" if content.u else ""
    sure = "in it, 95 % sure" if content.u else "in it"
    if len(amount + doubt) > _LONGEST:
        amount, doubt, sure = amount + tie, "", f"{doubt} at 95 %"
    notes = [Note(content.m, amount, doubt, sure)]
    promised = content.heel + content.held + content.mine
    free = content.m - promised
    if promised and free > 0:
        notes.append(Note(promised + free * 0.5, figure(free, digits) + tie, "", "free"))
    if content.mine:
        at = content.heel + content.held + content.mine / 2
        notes.append(Note(at, figure(content.mine) + tie, "", "held for you", is_mine=True))
    if content.held:
        notes.append(Note(content.heel + content.held / 2, figure(content.held) + tie, "", "held by others"))
    if content.heel:
        notes.append(Note(content.heel / 2, figure(content.heel) + tie, "", "cannot be got out"))
    return notes


def spread(aims: Sequence[float], has_loupe: bool) -> list[float]:
    """Find places for the call-outs so that they keep apart and stay in the frame.

    Parameters
    ----------
    aims : sequence of float
        Heights where the leaders point, from the top down [user units].
    has_loupe : bool
        Whether the first one stands under the loupe [-].

    Returns
    -------
    list of float
        Heights of the words [user units].

    Examples
    --------
    >>> spread([100, 110, 300], has_loupe=False)
    [100, 143, 296]
    """
    places: list[float] = []
    for i, aim in enumerate(aims):
        if i == 0:
            places.append(_FIRST_UNDER_LOUPE if has_loupe else max(aim, 20))
        else:
            places.append(max(aim, places[-1] + _GAP))
    if places:
        places[-1] = min(places[-1], HEIGHT - 22)
    for i in range(len(places) - 2, -1, -1):
        places[i] = min(places[i], places[i + 1] - _GAP)
    return places


def _call_out(glass: Glass, note: Note, aim: float, y: float, under_loupe: bool) -> str:
    edge = glass.right * TIMES
    x = max(edge + 40, 208) if under_loupe else edge + 40
    lead = ""
    if not under_loupe:
        lead = path(f"M{n(edge - 10)} {n(aim)}H{n(edge + 14)}L{n(edge + 26)} {n(y)}H{n(edge + 34)}", "v-lead")
        lead += f'<circle class="v-dot" cx="{n(edge - 10)}" cy="{n(aim)}" r="2.2"/>'
    doubt = f' <tspan class="pm">{escape(note.doubt)}</tspan>' if note.doubt else ""
    mine = " v-mine-word" if note.is_mine else ""
    return (
        f'{lead}<text class="v-big{mine}" x="{n(x)}" y="{n(y + 3)}">{escape(note.figure)}{doubt}</text>'
        f'<text class="v-small" x="{n(x)}" y="{n(y + 19)}">{escape(note.words)}</text>'
    )


def _loupe(glass: Glass, content: Content) -> str:
    """Enlarge the surface until the band fills the glass: a small doubt stays readable."""
    cx, cy, radius = LOUPE
    m, u = content.m, content.u
    y_of = lambda a: cy - (a - m) * 30 / (REACH * u)  # noqa: E731  one line reads better here
    band = upright_band(cx - radius, 2 * radius, y_of, (m, u), (-1e12, 1e12), 4)
    digits = decimals_for(u)
    marks = []
    for a in (m + 2 * u, m, m - 2 * u):
        marks.append(path(f"M{cx + radius + 2} {n(y_of(a))}h6", "v-tick2"))
        words = figure(max(a, 0), digits)
        marks.append(f'<text class="v-small" x="{cx + radius + 12}" y="{n(y_of(a) + 4.5)}">{words}</text>')
    start, level = glass.right * TIMES - 6, height_of(glass, content, m) * TIMES
    return (
        f"{path(f'M{n(start)} {n(level)}L{cx - 26} {cy + 31}', 'v-lead')}"
        f'<circle class="v-dot" cx="{n(start)}" cy="{n(level)}" r="2.2"/>'
        f'<g clip-path="url(#in-loupe)">{rect(cx - radius, cy - radius, 2 * radius, 2 * radius, "tx-ground")}'
        f"{rect(cx - radius, band.end, 2 * radius, cy + radius - band.end, 'v-body')}{band.drawn}"
        f"{path(f'M{cx - radius} {cy}h{2 * radius}', 'v-level')}</g>"
        f'<circle class="v-lens" cx="{cx}" cy="{cy}" r="{radius}"/>{"".join(marks)}'
    )
