"""Words on old labels that say: do not open it, do not even turn it. By old names and in several languages.

That old labels name such substances, and that they need a specialist before anybody opens them, is from museum and
archive advice on old chemicals; the lists of names are from memory, and a label that holds none of them proves nothing.
"""

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class LabelCaution:
    """A danger that words on a label point at.

    Attributes
    ----------
    word : str
        The word that was found, as it is searched for: lower case, without accents [-].
    may_be : str
        What the substance may be [-].
    why : str
        Why it is left alone [-].
    """

    word: str
    may_be: str
    why: str


_ETHER = r"(?:ather|aether|ether)s?\b"
_RULES = (  # (what is looked for, what it may be, why it is left alone)
    (
        r"pi[ck]rin\w*|picric\w*|picr(?:at|in)\w*|pikr\w*|melinit\w*|lyddit\w*|trinitrophen\w*",
        "picric acid or a picrate",
        "dry, or as a salt with metal, it goes off by friction or shock, and even in the thread of the cap",
    ),
    (
        r"welter\W{0,2}s?\W{1,2}bitter\w*|bitter of welter|indigo?bitter\w*",
        "picric acid, called Welter's bitter",
        "dry, or as a salt with metal, it goes off by friction or shock, and even in the thread of the cap",
    ),
    (
        r"\w*azid(?:e|es|o\w*)?\b|stickstoffwasserstoff\w*|hydrazoic",
        "an azide",
        "with metals or acid it forms compounds that explode, and a poisonous gas",
    ),
    (
        r"\w*perchlor\w*|uberchlors\w*|hyperchlor\w*",
        "a perchlorate or perchloric acid",
        "with anything organic, cork and dust included, it may explode",
    ),
    (
        r"\w*peroxid\w*|\w*peroxyd\w*|hyperoxyd\w*",
        "a peroxide",
        "it may explode by warmth, friction or shock",
    ),
    (
        rf"(?:\w*yl|di|schwefel|schwefel\w*|glykol|glycol)[- ]?{_ETHER}|(?<!petroleum )(?<!petrol )\b{_ETHER}"
        r"|\bdioxan\w*|\btetrahydrofuran\w*|\bthf\b|\btetralin\w*",
        "an ether",
        "opened once and left to stand it forms peroxides that explode when the cap is turned",
    ),
    (
        r"fulmin\w*|knallsilber\w*|knallgold\w*|knallquecksilber\w*",
        "a fulminate",
        "it goes off by the least shock",
    ),
    (
        r"\w*styphn\w*|trinitro\w*|tetryl\w*|hexanitro\w*|\w*nitroglyc\w*|sprengol\w*|nitrocellulos\w*|collodion\w*"
        r"|kollodium\w*|schie(?:ss|s)baumwoll\w*|guncotton",
        "an explosive nitro compound",
        "dry it goes off by friction or shock",
    ),
    (
        r"\w*acetylid\w*|diazonium\w*|\w*diazo(?!t)\w*chlori?d\w*",
        "an acetylide or a diazonium salt",
        "dry it may explode by touch",
    ),
)


def cautions_of(words: str) -> list[LabelCaution]:
    """Find the words on a label that mean: ask the safety officer first.

    Parameters
    ----------
    words : str
        Name and label text in lower case without accents, as `normalised` writes them [-].

    Returns
    -------
    list of LabelCaution
        One for each danger found, in the order of the rules; empty when no word is known, which proves nothing [-].

    Notes
    -----
    Source: advice of museums and archives on old chemicals (people first; picric acid and picrates, ethers,
    perchlorates, azides need a specialist before opening); names from memory.

    Examples
    --------
    >>> [caution.may_be for caution in cautions_of("pikrinsaure, umkryst. 12. xi. 94")]
    ['picric acid or a picrate']
    >>> cautions_of("fluorescein aus phtals.-anh.")
    []
    """
    found = []
    for shape, may_be, why in _RULES:
        match = re.search(shape, words)
        if match:
            found.append(LabelCaution(match.group(0), may_be, why))
    return found
