"""CAS numbers, check characters, structure keys, QR capacities."""

from labstock.chemistry.cas import check_cas
from labstock.chemistry.structure import inchikey
from labstock.labels.qr import is_alphanumeric, qr_matrix
from labstock.stock.code_shape import ALPHABET, check_character
from tests.checks.row import Check, near, same

STDNUM = "python-stdnum 2.2, its documentation and tests; sums by hand"
NIST = "NIST Chemistry WebBook, species page"
RDKIT = "rdkit 2026.9.1, printed keys"
QR = "ISO/IEC 18004, table 7"
GRID = "A12425GABC1234002"

VALID = [
    "7732-18-5",
    "108-24-7",
    "50-78-2",
    "69-72-7",
    "58-08-2",
    "107-07-3",
    "87-86-5",
    "51-43-4",
    "2040295-03-0",
    "329-65-7",
    "103-90-2",
    "123-30-8",
    "62-53-3",
    "103-84-4",
    "108-31-6",
    "108-30-5",
    "85-44-9",
    "7664-38-2",
    "109-99-9",
    "60-29-7",
    "7758-98-7",
    "7758-99-8",
    "497-19-8",
    "6132-02-1",
    "7789-20-0",
    "64-19-7",
]
INVALID = {
    "cas-check-digit": "87-86-6 7732-18-4 108-24-8 50-78-3 69-72-5 107-07-2 7723-18-5 50-87-2",
    "cas-leading-zero": "012770-26-2",
    "cas-dashes": "32-96-57 32965-7",
    "cas-length": "1-43-4 12040295-03-0",
}
KEYS = {
    "aspirin": ("CC(=O)Oc1ccccc1C(=O)O", "BSYNRYMUTXBXSQ-UHFFFAOYSA-N", NIST),
    "acetic anhydride": ("CC(=O)OC(C)=O", "WFDIJRYMOXRFFG-UHFFFAOYSA-N", NIST),
    "salicylic acid": ("O=C(O)c1ccccc1O", "YGSDEFSMJLZEOE-UHFFFAOYSA-N", RDKIT),
    "paracetamol": ("CC(=O)Nc1ccc(O)cc1", "RZVAJINKPMORJF-UHFFFAOYSA-N", RDKIT),
    "4-aminophenol": ("Nc1ccc(O)cc1", "PLIKAWJENQZMHA-UHFFFAOYSA-N", RDKIT),
    "aniline": ("Nc1ccccc1", "PAYRUJLWNCNPSJ-UHFFFAOYSA-N", RDKIT),
    "acetanilide": ("CC(=O)Nc1ccccc1", "FZERHIULMFGESH-UHFFFAOYSA-N", RDKIT),
    "maleic anhydride": ("O=C1C=CC(=O)O1", "FPYJFEHAWHCUMM-UHFFFAOYSA-N", RDKIT),
    "succinic anhydride": ("O=C1CCC(=O)O1", "RINCXYDBBGOEEQ-UHFFFAOYSA-N", RDKIT),
    "phthalic anhydride": ("O=C1OC(=O)c2ccccc12", "LGRFSURHDFAFJT-UHFFFAOYSA-N", RDKIT),
    "phosphoric acid": ("OP(=O)(O)O", "NBIIXXVUZAFLBC-UHFFFAOYSA-N", RDKIT),
    "tetrahydrofuran": ("C1CCOC1", "WYURNTSHIVDZCO-UHFFFAOYSA-N", RDKIT),
    "diethyl ether": ("CCOCC", "RTZKZFJDLAIYFH-UHFFFAOYSA-N", RDKIT),
    "acetic acid": ("CC(=O)O", "QTBSBXVTEAMEQO-UHFFFAOYSA-N", RDKIT),
    "ethanol": ("CCO", "LFQSCWFLJHTTHZ-UHFFFAOYSA-N", RDKIT),
    "benzoic acid": ("O=C(O)c1ccccc1", "WPYMKLBDIGXBTP-UHFFFAOYSA-N", RDKIT),
    "water": ("O", "XLYOFNOQVPJJNP-UHFFFAOYSA-N", RDKIT),
    "copper sulfate pentahydrate": ("O.O.O.O.O.[Cu+2].[O-]S(=O)(=O)[O-]", "JZCCFEFSEZPSOG-UHFFFAOYSA-L", RDKIT),
}  # fmt: skip
CAPACITIES = {
    1: (25, 20, 16, 10), 2: (47, 38, 29, 20), 3: (77, 61, 47, 35), 4: (114, 90, 67, 50), 5: (154, 122, 87, 64),
    6: (195, 154, 108, 84), 10: (395, 311, 221, 174),
}  # fmt: skip


def missed_substitutions() -> int:
    """Count the single wrong characters that the check character does not notice."""
    right = check_character(GRID)
    wrong = [
        GRID[:i] + letter + GRID[i + 1 :]
        for i in range(len(GRID))
        for letter in ALPHABET
        if letter != GRID[i]
    ]
    wrong_last = sum(letter == right for letter in ALPHABET if letter != right)
    return sum(check_character(text) == right for text in wrong) + wrong_last


def missed_swaps() -> int:
    """Count the swaps of neighbours that the check character does not notice."""
    right = check_character(GRID)
    swapped = {GRID[:i] + GRID[i + 1] + GRID[i] + GRID[i + 2 :] for i in range(len(GRID) - 1)} - {GRID}
    return sum(check_character(text) == right for text in swapped)


def _edges(version: int) -> list[int]:
    """Return the modules of the fullest symbol for each level of correction."""
    return [
        len(qr_matrix("A" * most, level)) for most, level in zip(CAPACITIES[version], "LMQH", strict=True)
    ]


def _edges_with_one_more(version: int) -> list[bool]:
    edge = 4 * version + 17
    pairs = zip(CAPACITIES[version], "LMQH", strict=True)
    return [len(qr_matrix("A" * (most + 1), level)) > edge for most, level in pairs]


CHECKS: list[Check] = [
    *(same("11.1" if i < 10 else "11.2", f"{cas} is valid", cas, lambda c=cas: check_cas(c), STDNUM) for i, cas in enumerate(VALID)),
    *(same("11.3", f"{cas} is refused", f"refused: {reason}", lambda c=cas: check_cas(c), STDNUM) for reason, several in INVALID.items() for cas in several.split()),
    same("11.4", f"check character of {GRID}", "M", lambda: check_character(GRID), "ISO 7064 MOD 37,36, the GRid example of python-stdnum 2.2"),
    near("11.5", "single substitutions that go unseen", 0, 0, missed_substitutions, "ISO 7064 MOD 37,36; counted apart: 0 of 630"),
    near("11.5", "swaps of neighbours that go unseen", 0, 0, missed_swaps, "ISO 7064 MOD 37,36; counted apart for this string"),
    *(same("11.9" if source == NIST else "11.10", f"key of {name}", key, lambda s=smiles: inchikey(s), source) for name, (smiles, key, source) in KEYS.items()),
    same("11.11", "maleic and succinic anhydride differ", True, lambda: inchikey("O=C1C=CC(=O)O1") != inchikey("O=C1CCC(=O)O1"), RDKIT),
    *(near("11.14", f"version {version} holds {limits} letters", [4 * version + 17] * 4, 0, lambda v=version: _edges(v), QR, "modules") for version, limits in CAPACITIES.items()),
    *(same("11.14", f"one letter more needs more than version {version}", [True] * 4, lambda v=version: _edges_with_one_more(v), QR) for version in CAPACITIES),
    same("11.15", "the 45 characters", True, lambda: is_alphanumeric("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"), QR),
    same("11.15", "lower case is not among them", False, lambda: is_alphanumeric("abc"), QR),
]  # fmt: skip
