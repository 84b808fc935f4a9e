"""Equations: exact balances, and those that conservation does not decide."""

from labstock.chemistry.equation import balance, parse_equation
from tests.checks.corpus import CORPUS_SOURCE, ILL_CONDITIONED, OFF_BY_ONE, agreeing
from tests.checks.row import Check, same

REDOX = "OpenStax, Chemistry 2e, Classifying Chemical Reactions (m68710)"
WRITING = "OpenStax, Chemistry 2e, Writing and Balancing Chemical Equations (m68709)"
CHEMPY = "chempy 0.10.2, tests/test_chemistry.py"
ALGEBRA = "linear algebra: the null space has two dimensions"

ONE_BALANCE = (
    ("3.1", "NH4NO3 -> N2 + O2 + H2O", (2, 2, 1, 4), WRITING),
    ("3.2", "C2H6 + O2 -> H2O + CO2", (2, 7, 6, 4), WRITING),
    ("3.3", "(NH4)2Cr2O7 -> Cr2O3 + N2 + H2O", (1, 1, 1, 4), WRITING),
    ("3.4", "Cu + HNO3 -> Cu(NO3)2 + H2O + NO", (3, 8, 3, 4, 2), WRITING),
    ("3.5", "Cr2O7^2- + Fe^2+ + H^+ -> Cr^3+ + Fe^3+ + H2O", (1, 6, 14, 2, 6, 7), REDOX),
    ("3.6", "MnO4^- + NO2^- + H2O -> MnO2 + NO3^- + OH^-", (2, 3, 1, 2, 3, 2), REDOX),
    ("3.7", "MnO4^2- + H2O -> MnO4^- + OH^- + MnO2", (3, 2, 2, 4, 1), REDOX),
    ("3.8", "CN^- + ClO2 + H2O -> CNO^- + Cl^- + H3O^+", (5, 2, 3, 5, 2, 2), REDOX),
    ("3.9", "MnO4^- + Br^- + H2O -> MnO2 + BrO3^- + OH^-", (2, 1, 1, 2, 1, 2), "OpenStax, Chemistry 2e (m68821)"),
    ("3.10", "NH4ClO4 + Al -> Al2O3 + HCl + H2O + N2", (6, 10, 5, 6, 9, 3), CHEMPY),
    ("3.11", "C7H5(NO2)3 + NH4NO3 -> CO + H2O + N2", (2, 7, 14, 19, 10), CHEMPY),
    ("3.12", "CuSCN + KIO3 + HCl -> CuSO4 + KCl + HCN + ICl + H2O", (4, 7, 14, 4, 7, 4, 7, 5), CHEMPY),
    ("3.13", "C12H22O11 + KClO3 -> CO2 + H2O + KCl", (1, 8, 12, 11, 8), "OpenStax, Chemistry 2e, Enthalpy (m68727)"),
    (
        "3.14",
        "[Cr(N2H4CO)6]4[Cr(CN)6]3 + KMnO4 + H2SO4 -> K2Cr2O7 + MnSO4 + CO2 + KNO3 + K2SO4 + H2O",
        (10, 1176, 1399, 35, 1176, 420, 660, 223, 1879),
        "J. Chem. Educ. 74 (1997) 1369",
    ),
    ("3.15", "C100000H200000N + O2 -> CO2 + H2O + NO2", (1, 150001, 100000, 100000, 1), CORPUS_SOURCE),
)  # fmt: skip
MANY = (
    ("3.16", "C2H6 + O2 -> CO2 + CO + H2O", f"{CHEMPY}: raises"),
    ("3.16", "C6H14 + O2 -> CO2 + CO + H2O", f"{CHEMPY}: raises"),
    ("3.17", "Cu + HNO3 -> Cu(NO3)2 + NO + NO2 + H2O", ALGEBRA),
    ("3.17", "KMnO4 + H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O", ALGEBRA),
    ("3.17", "KClO3 + HCl -> KCl + ClO2 + Cl2 + H2O", ALGEBRA),
)
NONE = ("CO -> CO2", "C3H6O3 -> C3H4O3", "H2 + O2 -> N2", "AgNO3 + NaCl -> AgCl + KNO3")

CHECKS: list[Check] = [
    *(same(number, typed, expected, lambda t=typed: balance(parse_equation(t)).coefficients, source) for number, typed, expected, source in ONE_BALANCE),
    *(same(number, typed, ("many", 2), lambda t=typed: (balance(parse_equation(t)).kind, balance(parse_equation(t)).nullity), source) for number, typed, source in MANY),
    *(same("3.18", typed, ("none", 0), lambda t=typed: (balance(parse_equation(t)).kind, balance(parse_equation(t)).nullity), f"{CHEMPY}, {CORPUS_SOURCE}; the last by hand") for typed in NONE),
    same("3.19", "whole corpus, reactions with exactly the published coefficients", 288, lambda: agreeing(), CORPUS_SOURCE),
    same("3.19", "the two published answers that are off by one in water are not repeated", 0, lambda: agreeing(OFF_BY_ONE), "exact arithmetic: water is 1698000001 and 2178000001"),
    same("3.19", "ill-conditioned part, without the two published answers that are off by one in water", 11, lambda: agreeing(ILL_CONDITIONED), CORPUS_SOURCE),
]  # fmt: skip
