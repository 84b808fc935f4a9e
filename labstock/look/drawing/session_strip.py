"""A day as a strip, with a session on it and the present hour."""

from labstock.look.drawing.strokes import n, path, rect


def session_strip(
    start_hour: float, end_hour: float, now_hour: float | None = None, is_mine: bool = False
) -> str:
    """Draw a session on its day; the day is 8 to 18 and stretches for earlier and later work.

    Parameters
    ----------
    start_hour, end_hour : float
        When it begins and ends, after midnight of its day [h].
    now_hour : float, optional
        The present hour, if it is that day [h].
    is_mine : bool
        Whether it is the reader's [-].

    Returns
    -------
    str
        One SVG element that a screen reader passes over; the times stand beside it [-].

    Examples
    --------
    >>> session_strip(14, 16, 10.667, is_mine=True).count("strip__mine")
    1
    """
    first, last = min(8, int(start_hour)), max(18, -int(-end_hour // 1))
    x_of = lambda hour: 2 + 196 * (hour - first) / (last - first)  # noqa: E731  one line reads better here
    ticks = "".join(path(f"M{n(x_of(hour))} 8v6", "strip__day") for hour in range(first, last + 1, 2))
    css = "strip__mine" if is_mine else "strip__on"
    bar = rect(x_of(start_hour), 7, max(x_of(end_hour) - x_of(start_hour), 2), 8, css)
    is_now = now_hour is not None and first <= now_hour <= last
    now = path(f"M{n(x_of(now_hour))} 0v22", "strip__now") if is_now and now_hour is not None else ""
    return (
        '<svg class="strip" viewBox="0 0 200 22" preserveAspectRatio="none" aria-hidden="true" focusable="false">'
        f"{path('M2 11H198', 'strip__day')}{ticks}{bar}{now}</svg>"
    )
