"""One way to write a text for searching, used when storing and when asking."""

import re
import unicodedata

GREEK = {"α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "ω": "omega", "µ": "u", "μ": "u"}
LETTERS = {"ø": "o", "ß": "ss", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d"}


def normalised(text: str) -> str:
    """Lower the case, strip accents, spell Greek letters, fold white space.

    Examples
    --------
    >>> normalised("  α-Terpinéol,  Größe ")
    'alpha-terpineol, grosse'
    """
    text = text.lower()
    for table in (GREEK, LETTERS):
        for letter, spelled in table.items():
            text = text.replace(letter, spelled)
    plain = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return re.sub(r"\s+", " ", plain).strip()
