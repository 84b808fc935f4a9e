"""The vessel laid on its side, with the need as a bracket: it must end where the bar is solid."""

from labstock.look.drawing.content import Content, speak
from labstock.look.drawing.doubt import REACH, level_band
from labstock.look.drawing.strokes import NO_BREAK, figure, frame, n, path, rect, text

_TOP, _TALL = 18, 14


def laid(content: Content, need: float | None = None, width: float = 320, words: str = "") -> str:
    """Draw the contents as a bar, and the need as a bracket that starts where the reader's part starts.

    Parameters
    ----------
    content : Content
        What is in the vessel [its unit].
    need : float, optional
        Amount that is wanted [unit of the content].
    width : float
        Width of the drawing [user units].
    words : str
        Words for a screen reader in place of the usual ones [-].

    Returns
    -------
    str
        One SVG element [-].

    Examples
    --------
    >>> "need 38" in laid(Content(53, 1.2, 100, held=12), need=38).replace(NO_BREAK, " ")
    True
    """
    start, end = 2.0, width - 2
    x_of = lambda a: start + (end - start) * min(max(a, 0) / content.full, 1)  # noqa: E731  reads better
    drawn = [
        rect(start, _TOP, end - start, _TALL, "l-glass"),
        rect(start, _TOP, x_of(content.m - REACH * content.u) - start, _TALL, "v-body"),
    ]
    reached = 0.0
    for amount, css in ((content.heel, "v-heel"), (content.held, "v-held"), (content.mine, "v-mine")):
        if amount > 0:
            left = x_of(reached)
            right = max(x_of(reached + amount), left + 2.5)
            drawn.append(rect(left, _TOP, right - left, _TALL, css))
            drawn.append(path(f"M{n(right)} {_TOP}v{_TALL}", "v-line"))
            reached += amount
    if content.u > 0:
        drawn.append(level_band(_TOP, _TALL, x_of, (content.m, content.u)).drawn)
    drawn.append(path(f"M{n(x_of(content.m))} {_TOP}v{_TALL}", "v-level"))
    said = words or speak("container", content)
    if need is not None:
        begin = content.heel + content.held
        drawn.append(_bracket(x_of(begin), x_of(begin + need), begin + need > content.full))
        label = f"need {figure(need)}{NO_BREAK}{content.unit}"
        drawn.append(_centred(label, (x_of(begin) + x_of(begin + need)) / 2, width))
        said = words or f"{said}; {figure(need)} {content.unit} needed"
    return frame("".join(drawn), (0, -4, width, _TOP + _TALL + 5), said, "laid")


def _bracket(left: float, right: float, is_beyond: bool) -> str:
    if is_beyond:
        return path(f"M{n(left)} 14V10H{n(right)}", "l-need") + path(f"M{n(right - 6)} 5l6 5l-6 5", "l-need")
    return path(f"M{n(left)} 14V10H{n(right)}V14", "l-need")


def _centred(label: str, middle: float, width: float) -> str:
    half = len(label) * 3.5
    return text(min(max(middle, half), width - half), 6.5, label, "l-text", "middle")
