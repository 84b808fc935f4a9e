"""Signs of trouble and what they mean, class by class. A cap on a peroxide former is not a cap on an anhydride.

One row, one rule: what is seen, on what, what to do, and who says so. The first row that fits a container wins.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from django.db.models import CharField, Exists, OuterRef, Q, Value
from django.db.models.functions import Cast, Concat

from labstock.chemistry.errors import LabError
from labstock.chemistry.water_reactions import water_reaction
from labstock.stock.models import Assay, Container, Sign, Substance, Trouble

Of = Literal["unknown", "peroxide former", "makes acid with water", "freezes near 17 °C", "any"]

DO_NOT_MOVE = "pages of three university safety offices on peroxide formers"
ACID = "acids form from anhydrides and acyl halides with water (textbook, from memory)"
FREEZING = "freezing point of acetic acid 16 °C: ACS reagent monograph, acetic acid (2017)"
UNKNOWN_BOTTLE = (
    "pages of university safety offices on unknown chemicals: do not open, smell, or move if unstable"
)
CUSTOM = "common practice, no source"
# What the answer of before says when it stands again; the number is that of the sign it takes back.
TAKEN_BACK = "taken back at once: sign "
FREEZES_NEAR_17 = ("64-19-7",)


@dataclass(frozen=True)
class SignRule:
    """What one sign on one class of substance means."""

    name: str
    what: str
    of: Of
    grade: Literal["stop", "ask", "watch"]
    meaning: str
    advice: str
    source: str
    blocks: bool = False
    doubts_strength: bool = False


_LEAVE = "Stop. Do not touch, open or move it. Keep others away and ring the safety officer now."
_ASSAY = "Open it only in the hood. Enter an assay before anybody counts on its strength; until then it cannot be held."
RULES: tuple[SignRule, ...] = (
    SignRule("unknown, any crystals", Trouble.CRYSTALS, "unknown", "stop", "Nobody knows what these crystals are.", _LEAVE, UNKNOWN_BOTTLE, blocks=True),
    SignRule("unknown, cap", Trouble.CAP, "unknown", "stop", "Under a stuck or rusted cap peroxides may sit in the thread.", _LEAVE, UNKNOWN_BOTTLE, blocks=True),
    SignRule("unknown, cloud", Trouble.CLOUD, "unknown", "stop", "An oily layer or cloud may be peroxides: they can explode when moved.", _LEAVE, UNKNOWN_BOTTLE, blocks=True),
    SignRule("unknown, pressure", Trouble.PRESSURE, "unknown", "stop", "Nobody knows what pushes.", _LEAVE, UNKNOWN_BOTTLE, blocks=True),
    SignRule("peroxide, crystals", Trouble.CRYSTALS, "peroxide former", "stop", "These may be peroxides: they can explode when touched.", _LEAVE, DO_NOT_MOVE, blocks=True),
    SignRule("peroxide, cloud", Trouble.CLOUD, "peroxide former", "stop", "An oily layer or cloud may be peroxides: they can explode when moved.", _LEAVE, DO_NOT_MOVE, blocks=True),
    SignRule("peroxide, cap", Trouble.CAP, "peroxide former", "stop", "Under a stuck or rusted cap peroxides may sit in the thread.", "Stop. Do not turn the cap. Leave it where it is and ring the safety officer now.", DO_NOT_MOVE, blocks=True),
    SignRule("peroxide, pressure", Trouble.PRESSURE, "peroxide former", "stop", "It may be decomposing.", _LEAVE, DO_NOT_MOVE, blocks=True),
    SignRule("peroxide, colour", Trouble.COLOUR, "peroxide former", "ask", "It has changed: the stabiliser may be used up.", "Test it for peroxides before it is used or warmed.", CUSTOM),
    SignRule("acid maker, smell", Trouble.SMELL, "makes acid with water", "ask", "Water has got in: a part of it is acid now.", _ASSAY, ACID, doubts_strength=True),
    SignRule("acid maker, crystals", Trouble.CRYSTALS, "makes acid with water", "ask", "Not a peroxide hazard: below about 17 °C this can be acid that froze out, so water has got in.", "Let it warm to room temperature, shut, and look again. " + _ASSAY, FREEZING, doubts_strength=True),
    SignRule("acid maker, cloud", Trouble.CLOUD, "makes acid with water", "ask", "Water may have got in.", _ASSAY, ACID, doubts_strength=True),
    SignRule("acid maker, cap", Trouble.CAP, "makes acid with water", "ask", "Acid fumes corrode a cap: it did not shut tightly.", "Do not force the cap: gloves, face shield, hood. " + _ASSAY, ACID, doubts_strength=True),
    SignRule("acid maker, pressure", Trouble.PRESSURE, "makes acid with water", "stop", "Water that got in may have set gas or acid vapour free.", "Do not open it. Into the hood only if it stands cool and still, and ring the safety officer.", ACID, blocks=True, doubts_strength=True),
    SignRule("acid maker, colour", Trouble.COLOUR, "makes acid with water", "watch", "Colour alone does not tell its strength.", "Look for smell and cloud too; assay it if it matters.", CUSTOM),
    SignRule("freezes, crystals", Trouble.CRYSTALS, "freezes near 17 °C", "watch", "It freezes at about 16 to 17 °C: in a cold room this is the acid itself.", "Let it warm to room temperature, shut, mix, and look again.", FREEZING),
    SignRule("freezes, smell", Trouble.SMELL, "freezes near 17 °C", "watch", "It always smells of acid: a leak if it does so when shut.", "Check that the cap is tight.", CUSTOM),
    SignRule("any, smell", Trouble.SMELL, "any", "ask", "It is not tight, or not what the label says.", "Close it, into the hood, and find out before you use it.", CUSTOM),
    SignRule("any, crystals", Trouble.CRYSTALS, "any", "ask", "It has dried round the cap, come out of solution, or reacted.", "Do not scrape. Find out what they are before you use it.", CUSTOM),
    SignRule("any, cloud", Trouble.CLOUD, "any", "ask", "Something came out or got in.", "Find out what before you use it.", CUSTOM),
    SignRule("any, cap", Trouble.CAP, "any", "ask", "The thread is dry, glued or corroded.", "Do not force it: gloves, face shield, hood.", CUSTOM),
    SignRule("any, pressure", Trouble.PRESSURE, "any", "stop", "Gas is forming in it.", "Do not open it. Keep away and ring the safety officer.", CUSTOM, blocks=True),
    SignRule("any, colour", Trouble.COLOUR, "any", "watch", "It has changed with light, air or age.", "Assay it if the strength matters.", CUSTOM),
)  # fmt: skip


def classes_of(substance: Substance | None) -> tuple[Of, ...]:
    """Return the classes a substance falls in, the most dangerous first; what nobody can name is a class of its own."""
    if substance is None:
        return ("unknown", "any")
    found: list[Of] = ["peroxide former"] if substance.is_peroxide_former else []
    if _makes_acid(substance):
        found.append("makes acid with water")
    if substance.cas in FREEZES_NEAR_17:
        found.append("freezes near 17 °C")
    return (*found, "any")


def _makes_acid(substance: Substance) -> bool:
    if not substance.smiles:
        return False
    try:
        reaction = water_reaction(substance.smiles)
    except LabError:
        return False
    return reaction is not None and reaction.kind in ("anhydride", "acyl halide")


def rule_for(what: str, substance: Substance | None) -> SignRule:
    """Return the rule for a sign on a substance: that of its most dangerous class."""
    for of in classes_of(substance):
        for rule in RULES:
            if rule.what == what and rule.of == of:
                return rule
    raise LabError("no-such-sign", "{what} is no sign that is looked for.", what=what)


def latest_signs(container: Container) -> dict[str, Sign]:
    """Return the newest answer to each question, by sign; one that was never asked is missing."""
    return {sign.what: sign for sign in container.signs.select_related("by").order_by("id")}


def doubtful() -> Q:
    """Return the condition on a container whose strength a sign put in doubt and no assay settled since."""
    later = Assay.objects.filter(container=OuterRef("container"), recorded_at__gt=OuterRef("recorded_at"))
    open_signs = Sign.objects.filter(container=OuterRef("pk"), doubts_strength=True)
    open_signs = open_signs.exclude(Exists(later)).exclude(_taken_back())
    return Q(Exists(open_signs))


def _taken_back() -> Exists:
    words = Concat(Value(TAKEN_BACK), Cast(OuterRef("pk"), CharField()))
    return Exists(Sign.objects.filter(container=OuterRef("container"), words=words))


def doubt_on(container: Container) -> Sign | None:
    """Return the newest sign that puts the strength in doubt and that no assay settled since, or None."""
    later = Assay.objects.filter(container=OuterRef("container"), recorded_at__gt=OuterRef("recorded_at"))
    open_signs = container.signs.filter(doubts_strength=True).exclude(Exists(later)).exclude(_taken_back())
    return open_signs.order_by("-id").first()


def doubtful_among(containers: Iterable[int]) -> list[Container]:
    """Return those of some containers whose strength is in doubt."""
    return list(Container.objects.filter(doubtful(), pk__in=list(containers)).order_by("number"))
