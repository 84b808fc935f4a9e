"""Words on a picture that must not run into each other."""

from labstock.look.drawing.strokes import width_of

_TALL = 12


class Labels:
    """Remembers where words stand and refuses a place that is taken or outside.

    Parameters
    ----------
    right : float
        Right end of the picture [user units].

    Examples
    --------
    >>> labels = Labels(right=200)
    >>> labels.take(10, 20, "weighed back"), labels.take(40, 24, "spilt"), labels.take(40, 50, "spilt")
    (True, False, True)
    """

    def __init__(self, right: float) -> None:
        self.right = right
        self._taken: list[tuple[float, float, float, float]] = []

    def take(self, x: float, y: float, words: str, anchor: str = "start") -> bool:
        """Take the place if it is free.

        Parameters
        ----------
        x, y : float
            Where the words begin, or end, or stand in the middle [user units].
        words : str
            The words [-].
        anchor : str
            "start", "middle" or "end" [-].

        Returns
        -------
        bool
            Whether the words may stand there [-].

        Examples
        --------
        >>> Labels(right=50).take(20, 10, "too long to stand here")
        False
        """
        width = width_of(words)
        left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
        box = (left - 3, y - _TALL, left + width + 3, y + 3)
        is_free = (
            left >= 0 and left + width <= self.right and not any(_meet(box, other) for other in self._taken)
        )
        if is_free:
            self._taken.append(box)
        return is_free


def _meet(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
