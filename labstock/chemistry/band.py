"""The doubt on a remaining amount, kept in parts so that it adds up rightly.

Independent errors add as squares (JCGM 100:2008, 5.1.2). Errors that draws with one device share add as they are (5.2.2):
twelve draws with one biased syringe are off by twelve times the bias.
What may have evaporated is expected by a model and never booked: it is kept apart as `drift`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import hypot, inf, isfinite, sqrt

from labstock.chemistry.errors import LabError

RECEIPT = "receipt"
EVAPORATION = "evaporation"


@dataclass(frozen=True)
class Band:
    """The doubt on a remaining amount.

    Parameters
    ----------
    random2 : float
        Sum of the squares of all independent parts [unit²].
    commons : tuple of (str, float)
        For each device, and for the receipt and evaporation, the sum of its common parts [-, unit].
    drift : float
        What a model expects to have evaporated and no line has booked; what is left is likely less by it [unit].
    at : int or None
        Moment up to which evaporation is counted, in whole seconds since 1970 UTC; None where it never began [s].
    """

    random2: float = 0.0
    commons: tuple[tuple[str, float], ...] = ()
    drift: float = 0.0
    at: int | None = None

    @property
    def spread(self) -> float:
        """Standard uncertainty of the likely amount, which is the book amount less the drift [unit]."""
        return sqrt(self.random2 + sum(common * common for _, common in self.commons))

    @property
    def u(self) -> float:
        """Standard uncertainty of the book amount; the drift is in it, as it is in no line [unit]."""
        return hypot(self.spread, self.drift)

    @classmethod
    def at_receipt(cls, u: float) -> "Band":
        """Start with the doubt on the amount received.

        Parameters
        ----------
        u : float
            Standard uncertainty of the amount received [unit].

        Returns
        -------
        Band
            The band of a container just received [unit].

        Examples
        --------
        >>> Band.at_receipt(0.25).u
        0.25
        """
        return cls(0.0, ((RECEIPT, size_of(u)),)) if u else cls()

    def u_without(self, key: str) -> float:
        """Give the doubt on the likely amount that is left when one common part is set aside.

        Parameters
        ----------
        key : str
            Device code, `RECEIPT` or `EVAPORATION` [-].

        Returns
        -------
        float
            Standard uncertainty [unit].

        Examples
        --------
        >>> Band(0.0, (("receipt", 0.4), ("syringe-5", 0.3))).u_without("receipt")
        0.3
        """
        return replace(self, commons=tuple(row for row in self.commons if row[0] != key)).spread

    def after_removal(self, amount: float, device_code: str, random: float, common: float) -> "Band":
        """Widen the band by one removal, or by one addition.

        Parameters
        ----------
        amount : float
            Amount removed; the sign of the common part follows it, so that what is put back with the same
            device takes its bias back [unit].
        device_code : str
            Device whose common part adds up [-].
        random : float
            Random standard uncertainty of this removal [unit].
        common : float
            Standard uncertainty shared with other removals by the device [unit].

        Returns
        -------
        Band
            The wider band [unit].

        Examples
        --------
        >>> band = Band()
        >>> for _ in range(12):
        ...     band = band.after_removal(5, "syringe-5", 0.15, 0.1)
        >>> round(band.u, 2)
        1.31
        """
        sign = -1.0 if amount < 0 else 1.0
        return replace(
            self._with_common(device_code, sign * size_of(common)),
            random2=self.random2 + size_of(random) ** 2,
        )

    def without_removal(self, device_code: str, random: float, common: float) -> "Band":
        """Take one removal back out of the band: it never was.

        Parameters
        ----------
        device_code : str
            Device it was recorded with [-].
        random : float
            Its random standard uncertainty [unit].
        common : float
            Its part common to the device [unit].

        Returns
        -------
        Band
            The band as if that removal had not been recorded [unit].

        Examples
        --------
        >>> band = Band(0.25).after_removal(5, "syringe-5", 0.15, 0.1)
        >>> round(band.without_removal("syringe-5", 0.15, 0.1).u, 6)
        0.5
        """
        narrower = max(self.random2 - size_of(random) ** 2, 0.0)
        return replace(self._with_common(device_code, -size_of(common)), random2=narrower)

    def after_evaporation(self, expected: float, u: float, left: float = inf) -> "Band":
        """Widen the band by a loss through the closed cap that is known only as a model.

        Parameters
        ----------
        expected : float
            What the model expects to have been lost since the band was last widened this way [unit].
        u : float
            Its standard uncertainty; the rate is the same every month, so it adds up as it is [unit].
        left : float
            Amount in the book: no more than that can be gone [unit].

        Returns
        -------
        Band
            The wider band [unit].

        Examples
        --------
        >>> band = Band().after_evaporation(0.9, 0.3).after_evaporation(0.3, 0.1)
        >>> round(band.drift, 1), round(band.spread, 1), round(band.u, 2)
        (1.2, 0.4, 1.26)
        """
        possible = min(size_of(expected), max(left - self.drift, 0.0))
        share = possible / expected if expected else 0.0
        wider = self._with_common(EVAPORATION, size_of(u) * share)
        return replace(wider, drift=self.drift + possible)

    def after_booking_evaporation(self, amount: float) -> "Band":
        """Take what somebody booked as evaporated off what the model expects.

        Parameters
        ----------
        amount : float
            Amount booked [unit].

        Returns
        -------
        Band
            The band with less drift, or none [unit].

        Examples
        --------
        >>> Band(drift=1.2).after_booking_evaporation(1.0).drift < 0.21
        True
        """
        return replace(self, drift=max(self.drift - size_of(amount), 0.0))

    def after_weigh_back(self, s: float, shared: str = "") -> "Band":
        """Narrow the band by a weighing that agrees with the book.

        Parameters
        ----------
        s : float
            Standard uncertainty of the amount found by weighing, without the `shared` part [unit].
        shared : str
            `RECEIPT` where the weighing is held against the gross mass at receipt: it tells what has left, so the
            doubt on what was there stays whole. Empty where the empty vessel's mass is known [-].

        Returns
        -------
        Band
            The narrower band [unit].

        Examples
        --------
        >>> round(Band(0.09, (("syringe-5", 1.2),)).after_weigh_back(0.03).u, 4)
        0.03
        """
        weight = weight_of_book(self.u_without(shared), size_of(s))
        commons = tuple((key, common if key == shared else common * weight) for key, common in self.commons)
        random2 = self.random2 * weight**2 + ((1 - weight) * s) ** 2
        return Band(random2, tuple(row for row in commons if row[1]), at=self.at)

    def replaced_by_weighing(self, s: float, shared: str = "") -> "Band":
        """Give the band after a weighing that replaces the book, once the difference is explained.

        Parameters
        ----------
        s : float
            Standard uncertainty of the amount found by weighing, without the `shared` part [unit].
        shared : str
            As in `after_weigh_back` [-].

        Returns
        -------
        Band
            The band of the weighing alone [unit].

        Examples
        --------
        >>> Band(4.0).replaced_by_weighing(0.5).u
        0.5
        """
        return Band(size_of(s) ** 2, tuple(row for row in self.commons if row[0] == shared), at=self.at)

    def as_json(self) -> dict[str, object]:
        """Give the band as plain values for a JSON column.

        Returns
        -------
        dict
            "random2" and "commons", and "drift" and "at" where there are any [unit², unit, unit, s].

        Examples
        --------
        >>> Band(0.25, (("syringe-5", 0.1),)).as_json()
        {'random2': 0.25, 'commons': {'syringe-5': 0.1}}
        """
        said: dict[str, object] = {"random2": self.random2, "commons": dict(self.commons)}
        if self.drift:
            said["drift"] = self.drift
        return said if self.at is None else said | {"at": self.at}

    @classmethod
    def from_json(cls, stored: Mapping[str, object] | None) -> "Band":
        """Read a band from a JSON column.

        Parameters
        ----------
        stored : mapping or None
            What `as_json` gave; nothing stored is a band of width 0 [unit², unit].

        Returns
        -------
        Band
            The band [unit].

        Examples
        --------
        >>> Band.from_json({"random2": 0.25, "commons": {}}).u
        0.5
        """
        if not stored:
            return cls()
        random2, commons, at = stored.get("random2"), stored.get("commons"), stored.get("at")
        drift = stored.get("drift", 0.0)
        numbers = [random2, drift, 0 if at is None else at]
        if not isinstance(commons, Mapping) or not all(map(_is_number, [*numbers, *commons.values()])):
            raise LabError(
                "bad-band",
                "The stored doubt {stored} is not readable: recompute the ledger of this container.",
                stored=dict(stored),
            )
        parts = tuple(sorted((str(key), float(value)) for key, value in commons.items()))
        return cls(float(str(random2)), parts, float(str(drift)), at if isinstance(at, int) else None)

    def _with_common(self, key: str, more: float) -> "Band":
        sums = dict(self.commons)
        sums[key] = sums.get(key, 0.0) + more
        return replace(self, commons=tuple(sorted((name, common) for name, common in sums.items() if common)))


def weight_of_book(u: float, s: float) -> float:
    """Find the weight of the book amount in its mean with a weighing.

    Parameters
    ----------
    u, s : float
        Standard uncertainties of book and weighing [unit].

    Returns
    -------
    float
        (1/u²)/(1/u² + 1/s²), 0 to 1 [-].

    Examples
    --------
    >>> round(weight_of_book(1.0, 1.0), 9)
    0.5
    """
    spread = hypot(u, s)
    return (s / spread) ** 2 if spread else 1.0


def size_of(number: float) -> float:
    """Check a standard uncertainty.

    Parameters
    ----------
    number : float
        The uncertainty [any unit].

    Returns
    -------
    float
        The same, 0 or more [unit of `number`].

    Examples
    --------
    >>> size_of(0.1)
    0.1
    """
    if not (isfinite(number) and number >= 0):
        raise LabError(
            "negative-uncertainty", "An uncertainty of {u} cannot be: give its size, 0 or more.", u=number
        )
    return float(number)


def _is_number(stored: object) -> bool:
    return isinstance(stored, int | float) and isfinite(stored)
