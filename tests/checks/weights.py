"""Atomic weights and molar masses."""

from statistics import median

from labstock.chemistry.atomic_weights import INTERVALS, SINGLE_VALUES, atomic_weight
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import exact, half_width
from tests.checks.row import Check, inside, near, same

CIAAW = "CIAAW, Standard Atomic Weights 2021"
NIST = "NIST Chemistry WebBook, species page"
BOOK = "OpenStax, Chemistry 2e, Formula Mass and the Mole (m68700); ± 0.004 is the spread of weights between editions"
FIVE = "median of five packages: molmass 2026.1.8, periodictable 2.1.0, mendeleev 1.3.0, rdkit 2026.9.1, chemicals 1.5.2"
QUAM = "EURACHEM/CITAC QUAM, example A2"


def molar_mass(formula: str) -> float:
    """Return our molar mass [g/mol]."""
    return float(parse_formula(formula).molar_mass.n)


PRINTED_INTERVALS = {
    "H": (1.00784, 1.00811), "C": (12.0096, 12.0116), "N": (14.00643, 14.00728), "O": (15.99903, 15.99977),
    "S": (32.059, 32.076), "Cl": (35.446, 35.457), "Br": (79.901, 79.907), "Mg": (24.304, 24.307),
    "Si": (28.084, 28.086), "B": (10.806, 10.821),
}  # fmt: skip
PRINTED_VALUES = {
    "Na": (22.98976928, 2e-8), "P": (30.973761998, 5e-9), "K": (39.0983, 1e-4), "Fe": (55.845, 2e-3),
    "Cu": (63.546, 3e-3), "Ag": (107.8682, 2e-4), "I": (126.90447, 3e-5), "F": (18.998403162, 5e-9),
    "Al": (26.9815384, 3e-7), "Mn": (54.938043, 2e-6), "Zn": (65.38, 2e-2),
}  # fmt: skip
ABRIDGED = {
    "H": (1.0080, 0.0002), "C": (12.011, 0.002), "N": (14.007, 0.001), "O": (15.999, 0.001), "S": (32.06, 0.02),
    "Cl": (35.45, 0.01),
}  # fmt: skip
MASS_INTERVALS = {
    "acetic anhydride": ("C4H6O3", 102.08253, 102.09437), "aspirin": ("C9H8O4", 180.14524, 180.16836),
    "water": ("H2O", 18.01471, 18.01599), "paracetamol": ("C8H9NO2", 151.15185, 151.17261),
    "hydrogen chloride": ("HCl", 36.45384, 36.46511), "sulfuric acid": ("H2SO4", 98.0708, 98.0913),
}  # fmt: skip
TEXTBOOK = {
    "acetone": ("C3H6O", 58.080, 0.002), "glucose": ("C6H12O6", 180.158, 0.004), "pentane": ("C5H12", 72.150, 0.002),
    "scandium sulfate": ("Sc2(SO4)3", 378.103, 0.025), "acetaminophen": ("C8H9NO2", 151.16, 0.01),
    "calcium phosphate": ("Ca3(PO4)2", 310.18, 0.01), "acetic acid": ("CH3COOH", 60.052, 0.002),
}  # fmt: skip
PACKAGES = """
water ; H2O ; 18.0153 18.0150 18.0150 18.015 18.0153
acetic anhydride ; C4H6O3 ; 102.0888 102.0890 102.0890 102.089 102.0886
salicylic acid ; C7H6O3 ; 138.1210 138.1220 138.1220 138.122 138.1207
aspirin ; C9H8O4 ; 180.1578 180.1590 180.1590 180.159 180.1574
4-aminophenol ; C6H7NO ; 109.1261 109.1280 109.1280 109.128 109.1259
paracetamol ; C8H9NO2 ; 151.1629 151.1650 151.1650 151.165 151.1626
aniline ; C6H7N ; 93.1267 93.1290 93.1290 93.129 93.1265
acetanilide ; C8H9NO ; 135.1635 135.1660 135.1660 135.166 135.1632
maleic anhydride ; C4H2O3 ; 98.0571 98.0570 98.0570 98.057 98.0569
succinic anhydride ; C4H4O3 ; 100.0729 100.0730 100.0730 100.073 100.0728
phthalic anhydride ; C8H4O3 ; 148.1159 148.1170 148.1170 148.117 148.1156
phosphoric acid ; H3PO4 ; 97.9952 97.9938 97.9938 97.994 97.9952
sulfuric acid ; H2SO4 ; 98.0783 98.0720 98.0720 98.079 98.0785
nitric acid ; HNO3 ; 63.0129 63.0120 63.0120 63.012 63.0128
hydrogen chloride ; HCl ; 36.4608 36.4580 36.4580 36.461 36.4609
tetrahydrofuran ; C4H8O ; 72.1059 72.1070 72.1070 72.107 72.1057
diethyl ether ; C4H10O ; 74.1218 74.1230 74.1230 74.123 74.1216
acetic acid ; C2H4O2 ; 60.0521 60.0520 60.0520 60.052 60.0520
ethanol ; C2H6O ; 46.0685 46.0690 46.0690 46.069 46.0684
acetone ; C3H6O ; 58.0793 58.0800 58.0800 58.080 58.0791
toluene ; C7H8 ; 92.1387 92.1410 92.1410 92.141 92.1384
benzoic acid ; C7H6O2 ; 122.1216 122.1230 122.1230 122.123 122.1213
benzamide ; C7H7NO ; 121.1369 121.1390 121.1390 121.139 121.1366
urea ; CH4N2O ; 60.0553 60.0560 60.0560 60.056 60.0553
sodium hydroxide ; NaOH ; 39.9971 39.9968 39.9968 39.997 39.9971
sodium acetate ; C2H3NaO2 ; 82.0339 82.0338 82.0338 82.034 82.0338
ibuprofen ; C13H18O2 ; 206.2814 206.2850 206.2850 206.285 206.2808
potassium hydrogen phthalate ; C8H5KO4 ; 204.2215 204.2223 204.2223 204.222 204.2212
copper sulfate ; CuSO4 ; 159.6084 159.6020 159.6020 159.609 159.6086
copper sulfate pentahydrate ; CuSO4·5H2O ; 249.6849 249.6770 249.6770 249.684 249.6850
sodium carbonate decahydrate ; Na2CO3·10H2O ; 286.1414 286.1375 286.1375 286.138 286.1412
sodium sulfate decahydrate ; Na2SO4·10H2O ; 322.1948 322.1855 322.1855 322.193 322.1949
oxalic acid dihydrate ; C2H2O4·2H2O ; 126.0656 126.0640 126.0640 126.064 126.0654
sodium thiosulfate pentahydrate ; Na2S2O3·5H2O ; 248.1838 248.1715 248.1715 248.186 248.1841
"""


def _package_rows() -> list[Check]:
    rows = []
    for line in PACKAGES.strip().splitlines():
        name, formula, values = (part.strip() for part in line.split(";"))
        expected = median(float(value) for value in values.split())
        tolerance = 0.012 if "S" in formula or "Cl" in formula else max(0.004, 40e-6 * expected)
        rows.append(
            near(
                "1.table", name, expected, round(tolerance, 4),
                lambda formula=formula: molar_mass(formula), FIVE, "g/mol",
            )
        )  # fmt: skip
    return rows


def _phthalate() -> tuple[float, float]:
    weights = {
        "C": half_width(12.0107, 0.0008), "H": half_width(1.00794, 0.00007), "O": half_width(15.9994, 0.0003),
        "K": half_width(39.0983, 0.0001),
    }  # fmt: skip
    found = parse_formula("C8H5O4K").molar_mass_from(weights)
    return float(found.n), float(found.s)


CHECKS = [
    *(
        near("1.1" if symbol in "HCNOSCl" else "1.3", f"interval of {symbol}", limits, 0, lambda s=symbol: INTERVALS[s], CIAAW)
        for symbol, limits in PRINTED_INTERVALS.items()
    ),
    *(
        near("1.2", f"weight of {symbol} and its limit", printed, 1e-12, lambda s=symbol: SINGLE_VALUES[s], CIAAW)
        for symbol, printed in PRINTED_VALUES.items()
    ),
    *(
        near("1.4", f"abridged weight of {symbol}", value, limit, lambda s=symbol: atomic_weight(s).n, "IUPAC/CIAAW 2021, abridged table")
        for symbol, (value, limit) in ABRIDGED.items()
    ),
    *(
        inside("1.5", f"{name} within its interval", low, high, lambda f=formula: molar_mass(f), f"derived from {CIAAW}", "g/mol")
        for name, (formula, low, high) in MASS_INTERVALS.items()
    ),
    near("1.6", "aspirin", 180.1574, 0.002, lambda: molar_mass("C9H8O4"), NIST, "g/mol"),
    near("1.6", "acetic anhydride", 102.0886, 0.002, lambda: molar_mass("C4H6O3"), NIST, "g/mol"),
    *(
        near("1.7", name, value, limit, lambda f=formula: molar_mass(f), BOOK, "g/mol")
        for name, (formula, value, limit) in TEXTBOOK.items()
    ),
    near("1.7", "sulfur, S8, with the book's S = 32.06", 256.48, 0.01, lambda: parse_formula("S8").molar_mass_from({"S": exact(32.06)}).n, BOOK, "g/mol"),
    near("1.8", "potassium hydrogen phthalate", 204.2212, 0.00005, lambda: _phthalate()[0], QUAM, "g/mol"),
    near("1.8", "its standard uncertainty", 0.00376530, 1e-7, lambda: _phthalate()[1], QUAM, "g/mol"),
    *_package_rows(),
    *(
        near("1.d", formula, value, 40e-6 * value, lambda f=formula: molar_mass(f), "chemicals 1.5.2, its own tests (older H)", "g/mol")
        for formula, value in (
            ("C20H12O5", 332.30628), ("C32H12CuN8Na4O12S4", 984.24916), ("C20H11DO5", 333.312442), ("C20H11TO5", 334.3143892),
        )
    ),
    same("1.c", "a multiplier behind the dot counts for the water alone", 10, lambda: int(parse_formula("CuSO4.5H2O").count("H")), "notation of hydrates, IUPAC IR-4.4.3.5, from memory"),
    same("1.d", "'FAIL' is no formula", "refused: unknown-element", lambda: parse_formula("FAIL"), "chemicals 1.5.2, its own tests"),
]  # fmt: skip
