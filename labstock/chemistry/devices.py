"""What amounts are measured with on the bench, and how well.

Each device has a limit of error. Nothing more is known of its shape, so u = limit/√3 (JCGM 100:2008, 4.3.7). That u is
split in two, because draws with one device share part of their error: u² = random² + common². The common part (how
this very device was made or is set) adds up over draws; the random part (reading it) averages out. Only piston pipettes
have a standard for the split; for the others the share is common practice, no source, and can be learned
from weigh-backs.

"Certainty" says how far a limit may be trusted: "read" in the source or in a page reporting it, "from memory",
or "common practice, no source".
"""

from collections.abc import Iterator

from labstock.chemistry.errors import LabError
from labstock.chemistry.measuring import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    READ,
    Device,
    DeviceUncertainty,
    fixed,
    of_amount,
    of_capacity,
    plastic_syringe_limit,
)

__all__ = ["DEVICES", "DROP_ML", "Device", "DeviceUncertainty", "choices", "device"]

DROP_ML = 0.05
PICKER_SIZE = 4
GOOD_ENOUGH = 0.01
MOST_FILLINGS = 5
SMALLEST_PART = 0.1


def _balances() -> Iterator[Device]:
    for step, capacity, limit, name in (
        ("0.1mg", 220, 0.0003, "0.1 mg analytical balance"),
        ("1mg", 520, 0.003, "1 mg balance"),
        ("0.01g", 3200, 0.03, "0.01 g balance"),
        ("0.1g", 8200, 0.15, "0.1 g balance"),
        ("1g", 30000, 3.0, "1 g floor balance"),
    ):
        yield Device(
            f"balance-{step}", name, "balance", "g", capacity, fixed(limit), 0.2,
            f"± {limit:g} g by difference, repeatability, drift and draught together",
            "common practice; it stays above 0.41 of a scale step, the floor in USP 41 Balances", COMMON_PRACTICE,
        )  # fmt: skip


def _syringes() -> Iterator[Device]:
    for size in (1, 2, 5, 10, 20, 50):
        upper = "5 %" if size < 5 else "4 %"
        yield Device(
            f"syringe-{size}", f"{size} mL syringe", "syringe", "mL", size, plastic_syringe_limit, 0.75,
            f"± {upper} of the amount from half scale up; below, ± (1.5 % of {size} mL + 2 % of the amount)",
            "ISO 7886-1 Sterile hypodermic syringes for single use, table 1", FROM_MEMORY,
        )  # fmt: skip
    for micrograduated in (0.1, 0.25, 0.5, 1, 2.5, 5, 10):
        yield Device(
            f"gastight-{micrograduated:g}", f"{micrograduated:g} mL gastight syringe", "gastight syringe", "mL",
            micrograduated, of_capacity(0.01), 0.5, "± 1 % of the capacity", COMMON_PRACTICE, COMMON_PRACTICE,
        )  # fmt: skip


def _two_classes(
    code: str,
    name: str,
    source: str,
    certainty: str,
    share: float,
    rows: tuple[tuple[float, float, float], ...],
) -> Iterator[Device]:
    kind = name.partition(",")[0]
    for size, limit_a, limit_b in rows:
        for letter, limit in (("A", limit_a), ("B", limit_b)):
            yield Device(
                f"{code}-{size:g}-{letter.lower()}", f"{size:g} mL {name}, class {letter}", kind, "mL", size,
                fixed(limit), share, f"± {limit:g} mL", source, certainty,
                only_full=code in ("pipette", "flask"),
            )  # fmt: skip


def _glassware() -> Iterator[Device]:
    yield from _two_classes(
        "cylinder", "cylinder", "ISO 4788:2005 Graduated measuring cylinders", FROM_MEMORY, 0.5,
        ((10, 0.1, 0.2), (25, 0.25, 0.5), (50, 0.5, 1), (100, 0.5, 1), (250, 1, 2), (500, 2.5, 5), (1000, 5, 10)),
    )  # fmt: skip
    yield from _two_classes(
        "cylinder-astm", "cylinder, ASTM", "ASTM E1272 Laboratory glass graduated cylinders; class B is twice class A",
        READ, 0.5,
        ((5, 0.05, 0.1), (10, 0.1, 0.2), (25, 0.17, 0.34), (50, 0.25, 0.5), (100, 0.5, 1), (250, 1, 2), (500, 2, 4)),
    )  # fmt: skip
    yield from _two_classes(
        "pipette", "one-mark pipette", "ISO 648:2008 Single-volume pipettes", READ, 0.75,
        ((0.5, 0.005, 0.01), (1, 0.008, 0.015), (2, 0.01, 0.02), (5, 0.015, 0.03), (10, 0.02, 0.04),
         (20, 0.03, 0.06), (25, 0.03, 0.06), (50, 0.05, 0.1), (100, 0.08, 0.15)),
    )  # fmt: skip
    yield from _two_classes(
        "burette", "burette", "ISO 385:2005 Burettes", READ, 0.5,
        ((1, 0.006, 0.01), (5, 0.01, 0.02), (10, 0.03, 0.05), (25, 0.03, 0.05), (50, 0.05, 0.1), (100, 0.1, 0.2)),
    )  # fmt: skip
    yield from _two_classes(
        "flask", "volumetric flask", "ISO 1042:1998 One-mark volumetric flasks", READ, 0.75,
        ((5, 0.025, 0.05), (10, 0.025, 0.05), (20, 0.04, 0.08), (25, 0.04, 0.08), (50, 0.06, 0.12), (100, 0.1, 0.2),
         (200, 0.15, 0.3), (250, 0.15, 0.3), (500, 0.25, 0.5), (1000, 0.4, 0.8), (2000, 0.6, 1.2)),
    )  # fmt: skip
    for size, limit in ((2, 0.01), (5, 0.02), (10, 0.03)):
        yield Device(
            f"graduated-pipette-{size}", f"{size} mL graduated pipette", "graduated pipette", "mL", size,
            fixed(limit), 0.5, f"± {limit:g} mL", "USP 31 Volumetric apparatus, measuring pipettes", READ,
        )  # fmt: skip


def _piston_pipettes() -> Iterator[Device]:
    for size_uL, systematic_uL, random_uL in (
        (2, 0.08, 0.04), (10, 0.12, 0.08), (20, 0.2, 0.1), (100, 0.8, 0.3), (200, 1.6, 0.6),
        (1000, 8, 3), (5000, 40, 15), (10000, 60, 30),
    ):  # fmt: skip
        yield Device(
            f"piston-{size_uL}", f"{size_uL} µL piston pipette", "piston pipette", "mL", size_uL / 1000,
            fixed(systematic_uL / 1000), 1.0,
            f"systematic ± {systematic_uL:g} µL, random {random_uL:g} µL, at any setting",
            "ISO 8655-2:2002 Piston-operated volumetric apparatus, piston pipettes", READ, random_uL / 1000,
        )  # fmt: skip


def _rough_ways() -> Iterator[Device]:
    yield Device(
        "dropper", "dropper", "dropper", "mL", None, of_amount(0.15), 0.75,
        "drop of water 0.05 mL ± 15 %; other liquids make smaller drops",
        "Ph. Eur. 2.1.1 Droppers; USP 1101 Medicine dropper (15 %)", READ,
    )  # fmt: skip
    yield Device(
        "pasteur", "drops from a Pasteur pipette", "dropper", "mL", None, of_amount(0.5), 0.75,
        "drop 0.05 mL ± 50 %, by tip and liquid", COMMON_PRACTICE, COMMON_PRACTICE,
    )  # fmt: skip
    yield Device(
        "beaker-marks", "poured by beaker marks", "beaker marks", "mL", None, of_amount(0.05), 0.5,
        "± 5 % of the amount", "common practice for beaker and conical flask marks, no source", FROM_MEMORY,
    )  # fmt: skip
    for code, name, part in (("by-eye", "by eye", 0.05), ("fill-strip", "fill strip", 0.02)):
        for unit, ending in (("mL", ""), ("g", "-g")):
            yield Device(
                f"{code}{ending}", f"{name}, from the level" if code == "by-eye" else name, name, unit, None,
                of_capacity(part), 0.25, f"± {part:.0%} of the vessel's capacity".replace("%", " %"),
                COMMON_PRACTICE, FROM_MEMORY, needs_vessel=True,
            )  # fmt: skip
    for unit in ("mL", "g"):
        yield Device(
            f"as-filled-{unit.lower()}", "as filled by the supplier", "as filled", unit, None, of_amount(0.01), 1.0,
            "± 1 % of the nominal content; what the law tolerates in one prepack is wider "
            "(3 % at 500 mL, Directive 76/211/EEC, from memory)",
            COMMON_PRACTICE, COMMON_PRACTICE,
        )  # fmt: skip
    yield Device(
        "counted",
        "counted",
        "counted",
        "piece",
        None,
        fixed(0),
        0,
        "none",
        "a count is exact",
        COMMON_PRACTICE,
    )


DEVICES: dict[str, Device] = {
    row.code: row
    for rows in (_balances(), _syringes(), _glassware(), _piston_pipettes(), _rough_ways())
    for row in rows
}

_HANDY_ORDER = (
    "syringe", "cylinder", "graduated pipette", "one-mark pipette", "piston pipette", "gastight syringe", "burette",
    "dropper", "beaker marks", "fill strip", "by eye",
)  # fmt: skip
_SMALL_ORDER = (
    "piston pipette",
    "gastight syringe",
    "syringe",
    "dropper",
    "graduated pipette",
    "one-mark pipette",
)
_SMALL_ML = 0.5
_ROUGH = ("dropper", "beaker marks", "fill strip", "by eye")
_USUAL_CLASS = {"cylinder": "b", "burette": "b", "one-mark pipette": "a"}


def device(code: str) -> Device:
    """Find a device by its code.

    Parameters
    ----------
    code : str
        Code of a row of `DEVICES` [-].

    Returns
    -------
    Device
        The device [-].

    Examples
    --------
    >>> device("syringe-10").name
    '10 mL syringe'
    """
    if code not in DEVICES:
        raise LabError(
            "unknown-device",
            "'{device}' is not a measuring device known here: pick one of the list.",
            device=code,
        )
    return DEVICES[code]


def choices(unit: str, amount: float, vessel: float | None = None) -> list[Device]:
    """Pick the devices that make sense for an amount, handiest first.

    Parameters
    ----------
    unit : str
        Unit the amount is measured in: g, mL or piece [-].
    amount : float
        The amount [unit].
    vessel : float, optional
        Capacity of the vessel; without it judging by the level is not offered [unit].

    Returns
    -------
    list of Device
        At most four; never empty for g, mL and piece [-].

    Examples
    --------
    >>> [row.name for row in choices("mL", 5)][:2]
    ['5 mL syringe', '10 mL cylinder, class B']
    >>> choices("g", 5)[0].name
    '0.01 g balance'
    """
    if unit == "piece":
        return [DEVICES["counted"]]
    if unit == "g":
        return _balances_for(amount)
    if unit != "mL":
        raise LabError(
            "no-device", "Nothing on the bench measures in {unit}: use g, mL or pieces.", unit=unit
        )
    order = _SMALL_ORDER if amount < _SMALL_ML else _HANDY_ORDER
    best = [row for kind in order if (row := _best_of_kind(kind, amount, vessel))]
    best.sort(key=lambda row: (row.kind in _ROUGH and amount >= _SMALL_ML, row.times_filled(amount) > 1))
    return best[:PICKER_SIZE] or [DEVICES["piston-2"]]


def _balances_for(amount_g: float) -> list[Device]:
    fitting = [row for row in DEVICES.values() if row.kind == "balance" and amount_g <= (row.capacity or 0)]
    on_the_bench = [row for row in fitting if row.code != "balance-1g"]
    if not on_the_bench:
        return [DEVICES["balance-1g"]]
    good = [row for row in on_the_bench if row.uncertainty(amount_g).u <= GOOD_ENOUGH * amount_g]
    return [*reversed(good), *(row for row in on_the_bench if row not in good)][:PICKER_SIZE]


def _best_of_kind(kind: str, amount_mL: float, vessel_mL: float | None) -> Device | None:
    fitting = [
        row
        for row in DEVICES.values()
        if row.kind == kind and row.unit == "mL" and _makes_sense(row, amount_mL)
    ]
    if not fitting or (fitting[0].needs_vessel and not vessel_mL):
        return None
    return min(
        fitting, key=lambda row: (row.times_filled(amount_mL), row.capacity or 0, row.code == "pasteur")
    )


def _makes_sense(row: Device, amount_mL: float) -> bool:
    if row.code.startswith("cylinder-astm") or not row.code.endswith(_USUAL_CLASS.get(row.kind, "")):
        return False
    if row.kind == "dropper":
        return 0.5 * DROP_ML <= amount_mL <= 20 * DROP_ML
    if row.capacity is None:
        return amount_mL >= 10
    if row.only_full:
        return abs(amount_mL - row.capacity) <= 1e-9 * row.capacity
    most_fillings = 1 if row.kind == "burette" else MOST_FILLINGS
    return SMALLEST_PART * row.capacity <= amount_mL <= most_fillings * row.capacity
