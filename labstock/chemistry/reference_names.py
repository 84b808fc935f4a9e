"""Names of substances in one spelling, everyday abbreviations, and telling a formula from a name."""

import re
import unicodedata

from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula

_GREEK = {
    "α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "ε": "epsilon", "ζ": "zeta", "η": "eta", "θ": "theta",
    "κ": "kappa", "λ": "lambda", "μ": "u", "µ": "u", "ν": "nu", "ξ": "xi", "π": "pi", "ρ": "rho", "σ": "sigma",
    "τ": "tau", "φ": "phi", "χ": "chi", "ψ": "psi", "ω": "omega", "ø": "o", "ß": "ss", "æ": "ae", "œ": "oe", "ł": "l",
}  # fmt: skip
_SIGNS = {"−": "-", "–": "-", "‐": "-", "‑": "-", "′": "'", "’": "'", "`": "'", "″": "''", "·": ".", "•": "."}
_TABLE = str.maketrans(_GREEK | _SIGNS)
_SPELLINGS = (("aluminium", "aluminum"), ("caesium", "cesium"), ("sulph", "sulf"))
_DOTTED_GREEK = re.compile(r"\.(alpha|beta|gamma|delta|epsilon|omega|lambda)\.")
_LOWER_FORMULA = re.compile(r"c\d{1,3}h\d{1,3}(?:[a-z]{1,2}\d{0,3})*")

# Everyday abbreviations of the synthesis lab and the CAS number each stands for; ours.
ALIASES = {
    "thf": "109-99-9", "2-methf": "96-47-9", "dcm": "75-09-2", "dmf": "68-12-2", "dma": "127-19-5",
    "dmac": "127-19-5", "dmso": "67-68-5", "ac2o": "108-24-7", "acoh": "64-19-7", "hoac": "64-19-7", "accl": "75-36-5",
    "etoac": "141-78-6", "ea": "141-78-6", "etoh": "64-17-5", "meoh": "67-56-1", "iproh": "67-63-0", "ipa": "67-63-0",
    "nbuoh": "71-36-3", "tbuoh": "75-65-0", "et2o": "60-29-7", "mtbe": "1634-04-4", "mecn": "75-05-8", "acn": "75-05-8",
    "mek": "78-93-3", "mibk": "108-10-1", "nmp": "872-50-4", "phme": "108-88-3", "dme": "110-71-4", "diglyme": "111-96-6",
    "dce": "107-06-2", "hmpa": "680-31-9", "tea": "121-44-8", "et3n": "121-44-8", "dipea": "7087-68-5", "hunig's base": "7087-68-5",
    "dmap": "1122-58-3", "dbu": "6674-22-2", "dabco": "280-57-9", "tfa": "76-05-1", "tfaa": "407-25-0", "tf2o": "358-23-6",
    "tfoh": "1493-13-6", "msoh": "75-75-2", "tsoh": "104-15-4", "tscl": "98-59-9", "mscl": "124-63-0", "bzcl": "98-88-4",
    "bncl": "100-44-7", "bnbr": "100-39-0", "mei": "74-88-4", "boc2o": "24424-99-5", "tmscl": "75-77-4", "tbscl": "18162-48-6",
    "nbs": "128-08-5", "ncs": "128-09-6", "nis": "516-12-1", "dcc": "538-75-0", "dic": "693-13-0", "cdi": "530-62-1",
    "mcpba": "937-14-4", "ddq": "84-58-2", "aibn": "78-67-1", "pph3": "603-35-0", "dead": "1972-28-7", "diad": "2446-83-5",
    "n-buli": "109-72-8", "nbuli": "109-72-8", "buli": "109-72-8", "lda": "4111-54-0", "lah": "16853-85-3", "dibal": "1191-15-7",
    "dibal-h": "1191-15-7", "9-bbn": "280-64-8", "khp": "877-24-7", "edta": "60-00-4", "bht": "128-37-0", "phoh": "108-95-2",
    "phnh2": "62-53-3",
}  # fmt: skip


def name_key(text: str) -> str:
    """Bring a name to the spelling it is searched by.

    Parameters
    ----------
    text : str
        A name as written anywhere [-].

    Returns
    -------
    str
        Lower case, accents dropped, Greek letters spelled out ('µ' as u), one kind of dash, quote and space [-].

    Notes
    -----
    Source: Unicode normal form NFKD; the Greek table and British spellings are ours.

    Examples
    --------
    >>> name_key("β-Alanine"), name_key("Sulphuric  acid")
    ('beta-alanine', 'sulfuric acid')
    """
    lowered = text.lower()
    if not lowered.isascii():
        spelled = lowered.translate(_TABLE)
        decomposed = unicodedata.normalize("NFKD", spelled)
        lowered = "".join(c for c in decomposed if not unicodedata.combining(c)).translate(_TABLE)
    elif "`" in lowered:
        lowered = lowered.replace("`", "'")
    if "." in lowered:
        lowered = _DOTTED_GREEK.sub(r"\1", lowered)
    for british, plain in _SPELLINGS:
        if british in lowered:
            lowered = lowered.replace(british, plain)
    return " ".join(lowered.split())


def is_formula(text: str) -> bool:
    """Whether a text is a formula rather than a name.

    Parameters
    ----------
    text : str
        What was typed [-].

    Returns
    -------
    bool
        True for "C4H6O3", "NaCl", "c4h6o3"; False for "tin" and for abbreviations such as "THF" [-].

    Notes
    -----
    Source: ours.

    Examples
    --------
    >>> is_formula("C4H6O3"), is_formula("acetone"), is_formula("THF")
    (True, False, False)
    """
    typed = text.strip()
    if name_key(typed) in ALIASES:
        return False
    if _LOWER_FORMULA.fullmatch(typed):
        return True
    if typed[:1].islower() or len(typed) < 2:
        return False
    try:
        atoms = parse_formula(typed).atoms
    except LabError:
        return False
    is_word = (
        bool(atoms.keys() & {"D", "T"}) and typed.isalpha()
    )  # TIN is a metal, not tritium iodide nitride
    return sum(atoms.values()) > 1 and not is_word
