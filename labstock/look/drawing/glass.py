"""The six vessels: their outlines, and the textures every picture shares."""

from dataclasses import dataclass
from typing import NamedTuple

from labstock.chemistry.errors import LabError


@dataclass(frozen=True)
class Glass:
    """A vessel in a box of 100 x 140.

    Parameters
    ----------
    glass : str
        Path of the outline [user units].
    cavity : str
        Path of the room inside, 3 units within the glass [user units].
    cap : str
        Path of the closure, empty if there is none [user units].
    ribs : str
        Path of the ribs on the closure [user units].
    top, bottom : float
        Height on the page of full and of empty [user units].
    left, right : float
        Inner walls of the straight part [user units].
    """

    glass: str
    cavity: str
    cap: str
    ribs: str
    top: float
    bottom: float
    left: float
    right: float


class Small(NamedTuple):
    """A vessel drawn anew on 16 x 16, hinted to half pixels: outline, closure and room as x, y, width, height."""

    glass: str
    cap: tuple[float, float, float, float] | None
    room: tuple[float, float, float, float]


GLASS = {
    "bottle": Glass(
        glass="M40 20V33C40 45 17 44 17 63V124Q17 132 25 132H75Q83 132 83 124V63C83 44 60 45 60 33V20",
        cavity="M43 22V34C43 48 20 47 20 64V123Q20 129 26 129H74Q80 129 80 123V64C80 47 57 48 57 34V22Z",
        cap="M37 5.5H63V19H37Z",
        ribs="M43 8V17M50 8V17M57 8V17",
        top=52,
        bottom=129,
        left=20,
        right=80,
    ),
    "vial": Glass(
        glass="M38 46V51C38 56 31 55 31 62V125Q31 132 38 132H62Q69 132 69 125V62C69 55 62 56 62 51V46",
        cavity="M41 46V53C41 59 34 58 34 64V125Q34 129 38 129H62Q66 129 66 125V64C66 58 59 59 59 53V46Z",
        cap="M34 30H66V45H34Z",
        ribs="M41 33V42M50 33V42M59 33V42",
        top=64,
        bottom=129,
        left=34,
        right=66,
    ),
    "ampoule": Glass(
        glass=(
            "M50 6C46.5 6 45.5 10 45.5 14L44 32C43.5 38 38 40 38 46C38 51 44 52 44 56C44 61 33 61 33 70"
            "V116Q33 132 50 132Q67 132 67 116V70C67 61 56 61 56 56C56 52 62 51 62 46C62 40 56.5 38 56 32"
            "L54.5 14C54.5 10 53.5 6 50 6Z"
        ),
        cavity="M36 71C36 64 64 64 64 71V116Q64 129 50 129Q36 129 36 116Z",
        cap="",
        ribs="M43 56H57",
        top=69,
        bottom=129,
        left=36,
        right=64,
    ),
    "jar": Glass(
        glass="M22 38V41C22 46 15 46 15 52V122Q15 132 25 132H75Q85 132 85 122V52C85 46 78 46 78 41V38",
        cavity="M25 40C25 48 18 49 18 54V122Q18 129 25 129H75Q82 129 82 122V54C82 49 75 48 75 40Z",
        cap="M18 20H82V37H18Z",
        ribs="M28 24V33M39 24V33M50 24V33M61 24V33M72 24V33",
        top=52,
        bottom=129,
        left=18,
        right=82,
    ),
    "tube": Glass(
        glass="M38 17V120Q38 132 50 132Q62 132 62 120V17M34 17H66",
        cavity="M41 19V120Q41 129 50 129Q59 129 59 120V19Z",
        cap="M41 4H59L57 24H43Z",
        ribs="M47 8H50M52 13H55M45 15H47",
        top=30,
        bottom=129,
        left=41,
        right=59,
    ),
    "drum": Glass(
        glass="M14 18V126Q14 132 20 132H80Q86 132 86 126V18M14 54H86M14 92H86",
        cavity="M17 21H83V129H17Z",
        cap="M11 13H89V19H11ZM60 8H72V13H60Z",
        ribs="",
        top=24,
        bottom=129,
        left=17,
        right=83,
    ),
}

SMALL = {
    "bottle": Small(
        "M6.5 3.5V5C6.5 6.5 3.5 6 3.5 8V14.5H12.5V8C12.5 6 9.5 6.5 9.5 5V3.5", (5.5, 1, 5, 2), (5, 7, 6, 6)
    ),
    "vial": Small(
        "M6 5.5C6 7 5.5 6.5 5.5 8V14.5H10.5V8C10.5 6.5 10 7 10 5.5", (5, 2.5, 6, 2.5), (7, 7.5, 2, 5.5)
    ),
    "ampoule": Small(
        "M8 .5L7 4.5C7 5 6 5 6 5.8S7 6.5 7 7C5.5 7.3 5.5 8 5.5 9V12.5Q5.5 14.5 8 14.5Q10.5 14.5 10.5 12.5"
        "V9C10.5 8 10.5 7.3 9 7C9 6.5 10 6.6 10 5.8S9 5 9 4.5Z",
        None,
        (7, 8.5, 2, 4.5),
    ),
    "jar": Small(
        "M4 5C4 6 2.5 6 2.5 7V14.5H13.5V7C13.5 6 12 6 12 5",
        (3, 2.5, 10, 2),
        (4, 7, 8, 6),
    ),
    "tube": Small(
        "M6 2.5V12.5Q6 14.5 8 14.5Q10 14.5 10 12.5V2.5M4.5 2.5H11.5",
        (6.8, 0.5, 2.4, 1.6),
        (7.2, 4, 1.6, 9),
    ),
    "drum": Small("M2.5 3V14.5H13.5V3", (2, 1.5, 12, 1.5), (4, 4, 8, 9)),
}

LOUPE = (246, 44, 40)
"""The loupe of the large vessel: centre and radius."""

_TEXTURES = (
    ("tx-held", 6, ' patternTransform="rotate(45)"', '<rect class="tx-ground" width="6" height="6"/><rect class="tx-held" width="1.8" height="6"/>'),
    ("tx-mine", 6, ' patternTransform="rotate(-45)"', '<rect class="tx-ground-mine" width="6" height="6"/><rect class="tx-mine" width="2" height="6"/>'),
    ("tx-heel", 4, "", '<rect class="tx-ground" width="4" height="4"/><circle class="tx-heel" cx="1" cy="1" r=".8"/><circle class="tx-heel" cx="3" cy="3" r=".8"/>'),
    ("tx-held-l", 3, ' patternTransform="rotate(45)"', '<rect class="tx-ground" width="3" height="3"/><rect class="tx-held" width=".8" height="3"/>'),
    ("tx-mine-l", 3, ' patternTransform="rotate(-45)"', '<rect class="tx-ground-mine" width="3" height="3"/><rect class="tx-mine" width="1" height="3"/>'),
    ("tx-heel-l", 2, "", '<rect class="tx-ground" width="2" height="2"/><circle class="tx-heel" cx=".5" cy=".5" r=".4"/><circle class="tx-heel" cx="1.5" cy="1.5" r=".4"/>'),
)  # fmt: skip


def glass_of(kind: str) -> Glass:
    """Find the outline of a kind of vessel.

    Parameters
    ----------
    kind : str
        One of the keys of `GLASS` [-].

    Returns
    -------
    Glass
        The outline [user units].

    Examples
    --------
    >>> glass_of("jar").top
    52
    """
    if kind not in GLASS:
        raise LabError(
            "unknown-vessel",
            "There is no drawing of a {kind!r}: use {kinds}.",
            kind=kind,
            kinds=", ".join(GLASS),
        )
    return GLASS[kind]


def definitions() -> str:
    """Give what every picture refers to: textures, and the rooms that contents are cut to. Once per page.

    Returns
    -------
    str
        One unseen SVG element [-].

    Examples
    --------
    >>> definitions().count("<pattern"), definitions().count("<clipPath")
    (6, 7)
    """
    textures = "".join(
        f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"'
        f"{turn}>{drawn}</pattern>"
        for name, size, turn, drawn in _TEXTURES
    )
    rooms = "".join(
        f'<clipPath id="in-{kind}"><path d="{glass.cavity}"/></clipPath>' for kind, glass in GLASS.items()
    )
    x, y, radius = LOUPE
    loupe = f'<clipPath id="in-loupe"><circle cx="{x}" cy="{y}" r="{radius}"/></clipPath>'
    return (
        '<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false">'
        f"<defs>{textures}{rooms}{loupe}</defs></svg>"
    )
