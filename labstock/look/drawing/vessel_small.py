"""The vessel at 16 px, for a line of text: no textures, only block, gap and line."""

from labstock.look.drawing.content import Content
from labstock.look.drawing.glass import SMALL, Small, glass_of
from labstock.look.drawing.strokes import frame, n, path, rect

_ASK = "M6.8 9.2Q6.8 7.8 8 7.8T9.2 9Q9.2 9.8 8 10.5V11.3M8 12.4V13.3"
_SEEN = 0.35
"""Doubt of less than this many pixels is not drawn."""


def vessel_small(kind: str, content: Content, said: str, state: str = "") -> str:
    """Draw a vessel on 16 x 16: a block to the sure level, a gap, one line at the best level.

    Parameters
    ----------
    kind : str
        Kind of vessel [-].
    content : Content
        What is in it [its unit].
    said : str
        Words for a screen reader [-].
    state : str
        One of `content.STATES` [-].

    Returns
    -------
    str
        One SVG element [-].

    Examples
    --------
    >>> vessel_small("jar", Content(46, 0, 100), "Jar").count("vs-body")
    1
    """
    glass_of(kind)
    small = SMALL[kind]
    inside = path(_ASK, "vs-ask") if state == "unknown" else _blocks(small, content)
    lid = rect(*small.cap, "vs-cap") if small.cap else ""
    dashed = " vs-glass--away" if state == "away" else ""
    strike = path("M1.5 15L14.5 2", "vs-strike") if state == "gone" else ""
    drawn = f"{inside}{lid}{path(small.glass, 'vs-glass' + dashed)}{strike}"
    return frame(drawn, (0, 0, 16, 16), said, "vessel vessel--s")


def _blocks(small: Small, content: Content) -> str:
    if content.m <= 0:
        return ""
    x, y, width, height = small.room
    base = y + height
    level = height * min(content.m / content.full, 1)
    is_doubtful = height * 2 * content.u / content.full > _SEEN
    sure, kept = max(0.0, level - (1.5 if is_doubtful else 0)), 0.0
    drawn = []
    if content.held + content.mine > 0:
        promised = content.heel + content.held + content.mine
        kept = min(max(1.4, height * promised / content.full), height)
        drawn.append(rect(x, base - kept, width, kept, "vs-held"))
        kept += 0.8
    if sure > kept:
        drawn.append(rect(x, base - sure, width, sure - kept, "vs-body"))
    if is_doubtful:
        drawn.append(
            f'<rect class="vs-level" x="{n(x)}" y="{n(base - level - 0.4)}" width="{n(width)}" height=".9"/>'
        )
    return "".join(drawn)
