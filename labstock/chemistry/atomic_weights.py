"""Standard atomic weights, and masses of single isotopes.

Source: Commission on Isotopic Abundances and Atomic Weights (CIAAW), Standard Atomic Weights 2021.
An interval is the range found in ordinary materials; "value(u)" is a value with the doubt on its last
digits. Both are bounds that hold with great certitude, so both are read as rectangles
(IUPAC Technical Report on the uncertainty of standard atomic weights, Pure Appl. Chem. 90 (2018) 395).
Isotope masses: Atomic Mass Evaluation 2020, rounded here to the sixth decimal.
"""

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, half_width, rectangle

INTERVALS: dict[str, tuple[float, float]] = {
    "H": (1.00784, 1.00811),
    "Li": (6.938, 6.997),
    "B": (10.806, 10.821),
    "C": (12.0096, 12.0116),
    "N": (14.00643, 14.00728),
    "O": (15.99903, 15.99977),
    "Mg": (24.304, 24.307),
    "Si": (28.084, 28.086),
    "S": (32.059, 32.076),
    "Cl": (35.446, 35.457),
    "Ar": (39.792, 39.963),
    "Br": (79.901, 79.907),
    "Tl": (204.382, 204.385),
    "Pb": (206.14, 207.94),
}

_VALUES = """
He 4.002602(2)      Be 9.0121831(5)     F 18.998403162(5)   Ne 20.1797(6)       Na 22.98976928(2)
Al 26.9815384(3)    P 30.973761998(5)   K 39.0983(1)        Ca 40.078(4)        Sc 44.955907(4)
Ti 47.867(1)        V 50.9415(1)        Cr 51.9961(6)       Mn 54.938043(2)     Fe 55.845(2)
Co 58.933194(3)     Ni 58.6934(4)       Cu 63.546(3)        Zn 65.38(2)         Ga 69.723(1)
Ge 72.630(8)        As 74.921595(6)     Se 78.971(8)        Kr 83.798(2)        Rb 85.4678(3)
Sr 87.62(1)         Y 88.905838(2)      Zr 91.224(2)        Nb 92.90637(1)      Mo 95.95(1)
Ru 101.07(2)        Rh 102.90549(2)     Pd 106.42(1)        Ag 107.8682(2)      Cd 112.414(4)
In 114.818(1)       Sn 118.710(7)       Sb 121.760(1)       Te 127.60(3)        I 126.90447(3)
Xe 131.293(6)       Cs 132.90545196(6)  Ba 137.327(7)       La 138.90547(7)     Ce 140.116(1)
Pr 140.90766(1)     Nd 144.242(3)       Sm 150.36(2)        Eu 151.964(1)       Gd 157.25(3)
Tb 158.925354(7)    Dy 162.500(1)       Ho 164.930329(5)    Er 167.259(3)       Tm 168.934219(5)
Yb 173.045(10)      Lu 174.9668(1)      Hf 178.486(6)       Ta 180.94788(2)     W 183.84(1)
Re 186.207(1)       Os 190.23(3)        Ir 192.217(2)       Pt 195.084(9)       Au 196.966570(4)
Hg 200.592(3)       Bi 208.98040(1)     Th 232.0377(4)      Pa 231.03588(1)     U 238.02891(3)
"""

# Elements without a stable isotope mixture: no standard atomic weight exists.
_WITHOUT = (
    "Tc Pm Po At Rn Fr Ra Ac Np Pu Am Cm Bk Cf Es Fm Md No Lr Rf Db Sg Bh Hs Mt Ds Rg Cn Nh Fl Mc Lv Ts Og"
)
WITHOUT_WEIGHT = frozenset(_WITHOUT.split())

ISOTOPE_MASS: dict[str, float] = {
    "1H": 1.007825, "2H": 2.014102, "3H": 3.016049, "6Li": 6.015123, "7Li": 7.016003,
    "10B": 10.012937, "11B": 11.009305, "11C": 11.011433, "12C": 12.0, "13C": 13.003355, "14C": 14.003242,
    "14N": 14.003074, "15N": 15.000109, "16O": 15.994915, "17O": 16.999132, "18O": 17.999160,
    "18F": 18.000937, "19F": 18.998403, "24Mg": 23.985042, "25Mg": 24.985837, "26Mg": 25.982593,
    "28Si": 27.976927, "29Si": 28.976495, "30Si": 29.973770, "31P": 30.973762, "32P": 31.973908, "33P": 32.971726,
    "32S": 31.972071, "33S": 32.971459, "34S": 33.967867, "35S": 34.969032, "36S": 35.967081,
    "35Cl": 34.968853, "37Cl": 36.965903, "79Br": 78.918338, "81Br": 80.916288,
    "99Tc": 98.906250, "125I": 124.904629, "127I": 126.904472, "131I": 130.906126,
}  # fmt: skip


def _single_values() -> dict[str, tuple[float, float]]:
    table = {}
    words = _VALUES.split()
    for symbol, printed in zip(words[::2], words[1::2], strict=True):
        value, digits = printed.rstrip(")").split("(")
        decimals = len(value.partition(".")[2])
        table[symbol] = (float(value), int(digits) * 10.0**-decimals)
    return table


SINGLE_VALUES: dict[str, tuple[float, float]] = _single_values()
ELEMENTS = frozenset(INTERVALS) | frozenset(SINGLE_VALUES) | WITHOUT_WEIGHT


def _weights() -> dict[str, UFloat]:
    table = {s: rectangle(low, high, name=f"atomic weight of {s}") for s, (low, high) in INTERVALS.items()}
    for symbol, (value, a) in SINGLE_VALUES.items():
        table[symbol] = half_width(value, a, name=f"atomic weight of {symbol}")
    for isotope, mass in ISOTOPE_MASS.items():
        table[isotope] = half_width(mass, 5e-7, name=f"mass of {isotope}")
    return table


_WEIGHTS: dict[str, UFloat] = _weights()


def atomic_weight(symbol: str) -> UFloat:
    """Atomic weight of an element, or mass of one isotope, with its uncertainty.

    The same object comes back every time, so sums over one element add linearly and two substances
    that share an element are correlated.

    Parameters
    ----------
    symbol : str
        Element ("C"), isotope ("13C"), or "D" and "T" [-].

    Returns
    -------
    UFloat
        Weight as a rectangle between its bounds [g/mol].

    Notes
    -----
    Source: CIAAW, Standard Atomic Weights 2021; isotopes from the Atomic Mass Evaluation 2020.

    Examples
    --------
    >>> f"{atomic_weight('C').nominal_value:.4f} g/mol"
    '12.0106 g/mol'
    """
    symbol = {"D": "2H", "T": "3H"}.get(symbol, symbol)
    if symbol not in _WEIGHTS:
        raise _no_weight(symbol)
    return _WEIGHTS[symbol]


def _no_weight(symbol: str) -> LabError:
    if symbol in WITHOUT_WEIGHT:
        hint = " For acetyl write CH3CO." if symbol == "Ac" else ""
        return LabError(
            "no-atomic-weight",
            "{symbol} has no standard atomic weight (no stable isotopes), so no molar mass follows: "
            "enter the molar mass by hand.{hint}",
            symbol=symbol,
            hint=hint,
        )
    if symbol[:1].isdigit():
        return LabError(
            "unknown-isotope",
            "The mass of the isotope {symbol} is not in the table: use the element without a mass number, "
            "or enter the molar mass by hand.",
            symbol=symbol,
        )
    return LabError("unknown-element", "'{symbol}' is no element.", symbol=symbol)
