"""Signs of the answer, icons of the doors, and the drawings on the front page."""

from labstock.chemistry.errors import LabError
from labstock.look.drawing.glass import GLASS

SIGNS = {
    "yes": '<circle class="sign-ink" cx="24" cy="24" r="22"/><path class="sign-gap" d="M13.5 25l7 7.5 14-16"/>',
    "limit": (
        '<path class="sign-ink" d="M24 2a22 22 0 0 0 0 44z"/><circle class="sign-line" cx="24" cy="24" r="20.8"/>'
        '<path class="sign-mark" d="M29 24l3.5 4 7-8.5"/>'
    ),
    "ask": (
        '<circle class="sign-line" cx="24" cy="24" r="20.5" stroke-dasharray="5 4"/>'
        '<path class="sign-mark" d="M18 19q0-6 6-6t6 5.5q0 4-6 7.5v3.5M24 35.5v.5"/>'
    ),
    "stop": (
        '<path class="sign-danger" d="M15 2h18l13 13v18l-13 13h-18l-13-13v-18z"/>'
        '<path class="sign-gap" d="M13 24h22"/>'
    ),
    "caution": (
        '<path class="sign-line" d="M24 5L45 42H3z" stroke-linejoin="round"/>'
        '<path class="sign-mark" d="M24 18v11M24 35.5v.5"/>'
    ),
    # Not written down: a line of the book with a stroke through it.
    "no": (
        '<circle class="sign-line" cx="24" cy="24" r="20.8"/>'
        '<path class="sign-line" d="M14 18H34M14 24H34M14 30H34"/><path class="sign-mark" d="M11 37L37 11"/>'
    ),
    # Nothing here yet: an empty ruled page.
    "empty": (
        '<path class="sign-line" d="M10 4H38V44H10Z" stroke-dasharray="5 4"/>'
        '<path class="sign-line" d="M16 16H32M16 24H32M16 32H25"/>'
    ),
    # At work: a glass half turned.
    "wait": (
        '<path class="sign-line" d="M12 4H36M12 44H36M15 4V11L24 24L33 11V4M15 44V37L24 24L33 37V44"/>'
        '<path class="sign-ink" d="M18 42L24 33L30 42ZM19 13H29L24 21Z"/>'
    ),
}

ICONS = {
    "reserve": "M7 2h6M8 2v4L4.5 9v8.5h11V9L12 6V2M4.5 12h11M6 16l3-3M9.5 16l3-3",
    "scan": (
        "M2 6V2h4M14 2h4v4M18 14v4h-4M6 18H2v-4M6 6h3v3H6zM11 6h3v3h-3zM6 11h3v3H6zM11.5 11.5h2.5M11.5 14H14"
    ),
    "find": "M3.5 3v11.5q0 3 2.5 3t2.5-3V3M2.5 3h7M3.5 10.5h5M9 6q3 0 3.5 2M11 10l2-2.5h5V17h-7z",
    "print": "M6 7V2.5h8V7M6 14H3V7h14v7h-3M6 11.5h8v6H6zM14 9.2h.5",
    "add": "M10 3.5v13M3.5 10h13",
    "undo": "M4 8h8q4 0 4 4t-4 4H8M7.5 4.5L4 8l3.5 3.5",
}

_OLD_SAMPLE = (
    '<path class="d-line" d="M22 20V118Q22 130 34 130Q46 130 46 118V20M18 20H50M26 6H42L40 24H28Z"/>'
    '<g><path class="v-body" d="M24 84H44V118Q44 128 34 128Q24 128 24 118Z"/><path class="d-line" d="M24 84H44"/></g>'
    '<path class="d-line" d="M46 34C62 30 70 38 72 50"/><path class="d-line" d="M66 52L74 46L92 46V98H60V58Z"/>'
    '<circle class="d-line" cx="73" cy="54" r="2"/><path class="d-line" d="M67 66H86M67 75H86M67 84H79"/>'
)
_RESERVED = (
    '<g clip-path="url(#in-bottle)"><rect class="v-body" x="17" y="66" width="66" height="70"/>'
    '<rect class="v-mine" x="17" y="78" width="66" height="26"/>'
    '<path class="d-line" d="M17 66h66M17 78h66M17 104h66"/></g><path class="d-line" d="M92 78h4v26h-4"/>'
)
_SCANNED = (
    '<path class="d-line" d="M36 76h10v10h-10zM54 76h10v10h-10zM36 94h10v10h-10z"/>'
    '<path class="d-fill" d="M54 94h4v4h-4zM60 94h4v4h-4zM57 100h7v4h-7zM48 88h4v4h-4zM48 79h3v3h-3zM54 88h4v3h-4z"/>'
    '<path class="d-line" d="M4 70V60H14M86 60H96V70M96 112V122H86M14 122H4V112"/>'
)


def sign(kind: str, css: str = "sign") -> str:
    """Draw the sign of an answer; the word beside it says the same.

    Parameters
    ----------
    kind : str
        "yes", "limit", "ask", "stop", "caution", "no", "empty" or "wait" [-].
    css : str
        Class [-].

    Returns
    -------
    str
        One SVG element that a screen reader passes over [-].

    Examples
    --------
    >>> sign("yes").startswith('<svg class="sign"')
    True
    """
    return (
        f'<svg class="{css}" viewBox="0 0 48 48" aria-hidden="true" focusable="false">'
        f"{_known(SIGNS, kind, 'sign')}</svg>"
    )


def icon(name: str) -> str:
    """Draw a small icon that stands beside its word.

    Parameters
    ----------
    name : str
        A key of `ICONS` [-].

    Returns
    -------
    str
        One SVG element of 20 px that a screen reader passes over [-].

    Examples
    --------
    >>> 'width="20"' in icon("scan")
    True
    """
    return (
        '<svg class="icon" width="20" height="20" viewBox="0 0 20 20" fill="none" stroke="currentColor"'
        ' stroke-width="1.5" stroke-linejoin="round" stroke-linecap="round" aria-hidden="true" focusable="false">'
        f'<path d="{_known(ICONS, name, "icon")}"/></svg>'
    )


def door_drawing(door: str) -> str:
    """Draw what stands in one of the three doors.

    Parameters
    ----------
    door : str
        "reserve", "scan" or "find" [-].

    Returns
    -------
    str
        One SVG element that a screen reader passes over [-].

    Examples
    --------
    >>> door_drawing("scan").count("d-fill")
    1
    """
    bottle = (
        f'<path class="d-line" d="{GLASS["bottle"].cap}"/><path class="d-line" d="{GLASS["bottle"].glass}"/>'
    )
    doors = {"reserve": bottle + _RESERVED, "scan": bottle + _SCANNED, "find": _OLD_SAMPLE}
    return (
        '<svg class="door__draw" viewBox="0 0 100 136" aria-hidden="true" focusable="false">'
        f"{_known(doors, door, 'door')}</svg>"
    )


def _known(drawings: dict[str, str], name: str, what: str) -> str:
    if name not in drawings:
        raise LabError(
            f"unknown-{what}",
            "There is no {what} called {name!r}: use {names}.",
            what=what,
            name=name,
            names=", ".join(drawings),
        )
    return drawings[name]
