"""The key under a chart: textures and marks only; lines carry their own names."""

from collections.abc import Collection

from labstock.look.drawing.doubt import upright_band

_MARKS = {
    "weighed": '<path class="c-mark c-mark--weigh" d="M7 1l6 6-6 6-6-6z"/>',
    "drawn": '<circle class="c-mark" cx="7" cy="7" r="2.8"/>',
    "lost": '<path class="c-mark c-mark--spilt" d="M3 3l8 8m0 -8l-8 8"/>',
    "reversed": '<path class="c-mark c-mark--rev" d="M2 11h10l-5 -9z"/>',
}


def key_of(is_doubtful: bool, is_held: bool, is_mine: bool, has_heel: bool, kinds: Collection[str]) -> str:
    """List what the textures and marks mean, only those that are there.

    Parameters
    ----------
    is_doubtful, is_held, is_mine, has_heel : bool
        Which textures the picture has [-].
    kinds : collection of str
        Kinds of ledger lines it has [-].

    Returns
    -------
    str
        One list [-].

    Examples
    --------
    >>> key_of(False, False, True, False, {"spilt"}).count("<li>")
    3
    """
    band = upright_band(0, 20, lambda a: 14 - a, (7, 2.9), (0, 14), 2.4).drawn
    rows = [
        (True, _swatch('<rect class="v-body" width="20" height="14"/>'), "is there"),
        (is_doubtful, _swatch(band), "in doubt: tone is the chance"),
        (is_held, _swatch('<rect class="v-held" width="20" height="14"/>'), "held by others"),
        (is_mine, _swatch('<rect class="v-mine" width="20" height="14"/>'), "held for you"),
        (has_heel, _swatch('<rect class="v-heel" width="20" height="14"/>'), "cannot be got out"),
        ("drawn" in kinds, _mark("drawn"), "drawn"),
        (bool({"weighed back", "counted"} & set(kinds)), _mark("weighed"), "weighed back or counted"),
        (bool({"spilt", "evaporated", "wasted"} & set(kinds)), _mark("lost"), "spilt or lost"),
        ("reversed" in kinds, _mark("reversed"), "reversed"),
    ]
    items = "".join(f"<li>{drawn}{words}</li>" for is_there, drawn, words in rows if is_there)
    return f'<ul class="key">{items}</ul>'


def _swatch(inside: str) -> str:
    return (
        '<svg width="20" height="14" viewBox="0 0 20 14" aria-hidden="true" focusable="false">'
        f'{inside}<path class="v-line" d="M0 0h20v14H0z"/></svg>'
    )


def _mark(kind: str) -> str:
    return (
        '<svg width="14" height="14" viewBox="0 0 14 14" aria-hidden="true" focusable="false">'
        f"{_MARKS[kind]}</svg>"
    )
