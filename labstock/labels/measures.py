"""Sizes of labels as people give them."""

from dataclasses import dataclass

from labstock.chemistry.errors import LabError

SMALLEST_MM, SMALLEST_AREA_MM2 = 10.0, 144.0
WIDEST_MM, HIGHEST_MM = 210.0, 297.0


@dataclass(frozen=True)
class LabelSize:
    """Width and height of a label [mm]."""

    width: float
    height: float

    def __str__(self) -> str:
        return f"{self.width:g} × {self.height:g} mm"


def check_size(width: float, height: float) -> LabelSize:
    """Refuse a label that is too small for a name and a code, or larger than a page.

    Parameters
    ----------
    width : float
        Along the lines of text [mm].
    height : float
        Across them [mm].

    Returns
    -------
    LabelSize
        The size [mm].

    Notes
    -----
    A name of 1.3 mm and a code in letters need 12 × 12 mm; common practice, no source.

    Examples
    --------
    >>> str(check_size(57, 32))
    '57 × 32 mm'
    """
    size = LabelSize(width, height)
    too_small = min(width, height) < SMALLEST_MM or width * height < SMALLEST_AREA_MM2
    if too_small or width > WIDEST_MM or height > HIGHEST_MM:
        raise LabError(
            "label-size",
            "A label of {size} is too {what}: sizes go from 12 × 12 mm (or 15 × 10 mm) to 210 × 297 mm. Give the width and "
            "the height of the label itself, in millimetres.",
            size=size,
            what="small" if too_small else "large",
        )
    return size
