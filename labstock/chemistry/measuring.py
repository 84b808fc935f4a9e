"""How well a device measures: its limit of error, and the two parts of its standard uncertainty.

Nothing more than a limit is known, so u = limit/√3 (JCGM 100:2008, 4.3.7). That u is split in two: u² = random² + common².
The common part (how this very device was made or is set) adds up over draws; the random part (reading it) averages out.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, hypot, isfinite, sqrt
from typing import TypeAlias

from labstock.chemistry.errors import LabError

Limit: TypeAlias = Callable[[float, float], float]

READ, FROM_MEMORY, COMMON_PRACTICE = "read", "from memory", "common practice, no source"


@dataclass(frozen=True)
class DeviceUncertainty:
    """The doubt that one measuring brings.

    Parameters
    ----------
    random : float
        Standard uncertainty that is new each time [unit of the device].
    common : float
        Standard uncertainty shared by all amounts measured with the same device [unit of the device].
    """

    random: float
    common: float

    @property
    def u(self) -> float:
        """Standard uncertainty of one amount [unit of the device]."""
        return hypot(self.random, self.common)


@dataclass(frozen=True)
class Device:
    """One kind of device, in one size and class.

    Parameters
    ----------
    code : str
        Stable short name, kept in the ledger [-].
    name : str
        Name on screens [-].
    kind : str
        Family: "syringe", "balance", "by eye" and so on [-].
    unit : str
        Unit it measures in: g, mL or piece [-].
    capacity : float, optional
        Most it measures at once; None where the vessel decides [unit].
    limit : Callable
        Limit of error, from the amount and the capacity [unit].
    common_share : float
        Part of u² that is common to all readings of the device [-].
    limit_text : str
        The limit in words [-].
    source : str
        Title and edition of the standard [-].
    certainty : str
        `READ`, `FROM_MEMORY` or `COMMON_PRACTICE` [-].
    repeatability : float, optional
        Random standard uncertainty, where the standard gives it apart from the limit [unit].
    only_full : bool
        True for one-mark ware, which measures its capacity and nothing else [-].
    needs_vessel : bool
        True where the limit is a part of the vessel's capacity [-].
    """

    code: str
    name: str
    kind: str
    unit: str
    capacity: float | None
    limit: Limit
    common_share: float
    limit_text: str
    source: str
    certainty: str
    repeatability: float | None = None
    only_full: bool = False
    needs_vessel: bool = False

    def times_filled(self, amount: float) -> int:
        """Count how often the device is filled for an amount.

        Parameters
        ----------
        amount : float
            The amount measured [unit].

        Returns
        -------
        int
            1 or more, in equal portions [-].

        Examples
        --------
        >>> from labstock.chemistry.devices import device
        >>> device("syringe-10").times_filled(12)
        2
        """
        return 1 if self.capacity is None else max(1, ceil(amount / self.capacity - 1e-9))

    def uncertainty(self, amount: float, vessel: float | None = None) -> DeviceUncertainty:
        """Give the doubt of an amount measured with this device.

        Parameters
        ----------
        amount : float
            The amount measured, 0 or more [unit].
        vessel : float, optional
            Capacity of the vessel, for what is judged by its level [unit].

        Returns
        -------
        DeviceUncertainty
            Random and common part; more than one filling adds the random parts as squares, the common parts
            as they are [unit].

        Raises
        ------
        LabError
            "bad-amount", "needs-vessel", or "too-heavy" for a balance.

        Examples
        --------
        >>> from labstock.chemistry.devices import device
        >>> round(device("syringe-10").uncertainty(5).u, 3)  # 4 % of 5 mL, over √3
        0.115
        """
        _refuse_bad_amount(self, amount)
        capacity = self._capacity_for(amount, vessel)
        times = self.times_filled(amount)
        limit = self.limit(amount / times, capacity)
        u = limit / sqrt(3)
        if self.repeatability is not None:
            return DeviceUncertainty(self.repeatability * sqrt(times), u * times)
        random, common = u * sqrt(1 - self.common_share), u * sqrt(self.common_share)
        return DeviceUncertainty(random * sqrt(times), common * times)

    def _capacity_for(self, amount: float, vessel: float | None) -> float:
        if self.needs_vessel and not vessel:
            raise LabError(
                "needs-vessel",
                "{amount:g} {unit} {device} cannot be given a doubt without the capacity of the vessel: enter the capacity.",
                amount=amount,
                unit=self.unit,
                device=self.name,
            )
        if self.kind == "balance" and self.capacity is not None and amount > self.capacity:
            raise LabError(
                "too-heavy",
                "{amount:g} g is more than the {device} takes ({capacity:g} g): use a larger balance.",
                amount=amount,
                device=self.name,
                capacity=self.capacity,
            )
        return (vessel if self.needs_vessel else self.capacity) or amount


def _refuse_bad_amount(measured_with: Device, amount: float) -> None:
    if not (isfinite(amount) and amount >= 0):
        raise LabError(
            "bad-amount",
            "{amount} {unit} cannot have been measured with the {device}: give an amount of 0 or more.",
            amount=amount,
            unit=measured_with.unit,
            device=measured_with.name,
        )


def fixed(limit: float) -> Limit:
    """Make a limit that is the same for any amount.

    Parameters
    ----------
    limit : float
        Limit of error [unit of the device].

    Returns
    -------
    Callable
        The limit, from amount and capacity [unit of the device].

    Examples
    --------
    >>> fixed(0.5)(20, 50)
    0.5
    """
    return lambda amount, capacity: limit


def of_amount(part: float) -> Limit:
    """Make a limit that is a part of the amount.

    Parameters
    ----------
    part : float
        The part, 0.05 for 5 % [-].

    Returns
    -------
    Callable
        The limit, from amount and capacity [unit of the device].

    Examples
    --------
    >>> of_amount(0.05)(20, 50)
    1.0
    """
    return lambda amount, capacity: part * amount


def of_capacity(part: float) -> Limit:
    """Make a limit that is a part of the capacity, whatever the amount.

    Parameters
    ----------
    part : float
        The part, 0.05 for 5 % [-].

    Returns
    -------
    Callable
        The limit, from amount and capacity [unit of the device].

    Examples
    --------
    >>> of_capacity(0.05)(20, 50)
    2.5
    """
    return lambda amount, capacity: part * capacity


def plastic_syringe_limit(amount: float, capacity: float) -> float:
    """Find the limit of error of a plastic syringe.

    Parameters
    ----------
    amount : float
        Volume expelled [mL].
    capacity : float
        Nominal capacity [mL].

    Returns
    -------
    float
        Limit of error [mL].

    Notes
    -----
    Source: ISO 7886-1 Sterile hypodermic syringes for single use, table 1, from memory.

    Examples
    --------
    >>> plastic_syringe_limit(2, 10), plastic_syringe_limit(10, 10)
    (0.19, 0.4)
    """
    if amount < capacity / 2:
        return 0.015 * capacity + 0.02 * amount
    return (0.05 if capacity < 5 else 0.04) * amount
