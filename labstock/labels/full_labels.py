"""Full labels: every hazard element at the sizes that the rules ask for, or none at all.

What a small package may leave out is tried only where everything does not fit, and is then named on the label.
"""

from dataclasses import dataclass, replace

from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import hazard
from labstock.labels.clp_sizes import (
    RESEARCH_PACKAGE,
    SIZE_RULES,
    SMALL_PACKAGE,
    STAYS_ON_THE_SMALLEST,
    Relief,
    SizeRule,
    may_be_left_out,
    size_rule,
)
from labstock.labels.content import LabelContent
from labstock.labels.full_layout import lay_out
from labstock.labels.marks import Drawing
from labstock.labels.measures import LabelSize

STEP_MM = 0.5
# Labels that small packages may do with, tried in turn when one is refused [mm]; common practice, no source.
SMALLER = (LabelSize(40, 20), LabelSize(50, 25), LabelSize(57, 32), LabelSize(70, 37))


@dataclass(frozen=True)
class Way:
    """A way to meet the rules: what the label then says, and the relief it takes, if any."""

    content: LabelContent
    relief: Relief | None = None


def full_size(content: LabelContent) -> LabelSize:
    """Return the label of the row for its capacity [mm]."""
    rule = _rule(content)
    return LabelSize(rule.width, rule.height)


def draw_full(content: LabelContent, size: LabelSize, is_coloured: bool = False) -> Drawing:
    """Draw a full label, or refuse it with the size that it would need."""
    rule = _rule(content)
    if not content.hazards:
        raise LabError(
            "label-full-hazards",
            "The full label of {shown} is not printed: no hazards are on record for {name}. Write them on the "
            "substance's page, or print the plain label.",
            shown=content.shown_code,
            name=content.name,
        )
    drawing = _drawn(content, size, rule, is_coloured)
    if drawing is None:
        raise _too_small(content, size, rule)
    return drawing


def _rule(content: LabelContent) -> SizeRule:
    if content.capacity_mL is None:
        raise LabError(
            "label-full-capacity",
            "The full label of {shown} is not printed: nobody said how many millilitres it holds, and the label's "
            "size goes by that. Print its plain label.",
            shown=content.shown_code,
        )
    return size_rule(content.capacity_mL)


def _drawn(content: LabelContent, size: LabelSize, rule: SizeRule, is_coloured: bool) -> Drawing | None:
    """Try each way, the fullest first, with pictures as large as is wanted, then down to what is allowed."""
    for way in _ways(content, rule.is_met_by(size.width, size.height)):
        for edge in _edges(rule):
            drawing = lay_out(way.content, size, edge, way.relief, is_coloured)
            if drawing is not None:
                return drawing
    return None


def _edges(rule: SizeRule) -> list[float]:
    """Return the edges of a picture that the rule allows, the largest first [mm]."""
    edges, edge = [], rule.picture_wanted
    while edge > rule.picture_least:
        edges.append(edge)
        edge -= STEP_MM
    return [*edges, rule.picture_least] if rule.picture_least < rule.picture else [rule.picture_wanted]


def _ways(content: LabelContent, is_large: bool) -> list[Way]:
    """Return what may be tried on a label of this size."""
    capacity = content.capacity_mL or 0.0
    ways = [Way(content)] if is_large else []
    if capacity <= SMALL_PACKAGE.up_to_mL:
        reduced = _reduced(content)
        bare = replace(reduced, lines=(), strength="")
        ways += [Way(each, SMALL_PACKAGE) for each in (content, reduced, bare)]
    if capacity <= RESEARCH_PACKAGE.up_to_mL:
        ways.append(Way(_smallest(content), RESEARCH_PACKAGE))
    return ways


def _reduced(content: LabelContent) -> LabelContent:
    """Leave out the statements that a small package may leave out."""
    dropped = {
        hazard(code, category).text for code, category in content.hazards if may_be_left_out(code, category)
    }
    return replace(
        content, hazard_words=tuple(words for words in content.hazard_words if words not in dropped)
    )


def _smallest(content: LabelContent) -> LabelContent:
    """Keep the name and at most two of the four gravest pictures."""
    gravest = [code for code in STAYS_ON_THE_SMALLEST if code in content.pictograms][:2]
    pictograms = tuple(sorted(gravest))
    return replace(content, hazard_words=(), signal_word="", pictograms=pictograms, lines=(), strength="")


def _too_small(content: LabelContent, size: LabelSize, rule: SizeRule) -> LabError:
    asked = f"{rule.picture_least:g} mm at least, {rule.picture:g} mm if possible"
    if rule.picture == rule.picture_least:
        asked = f"{rule.picture:g} mm at least"
    needed = _needed(content, rule)
    return LabError(
        "label-full-too-small",
        "The full label of {shown} is not printed on {size}: a container of {capacity:.4g} mL ({row}) asks for a "
        "label of {width:g} × {height:g} mm or more with pictures of {asked} ({source}). {needs}",
        shown=content.shown_code,
        size=size,
        capacity=content.capacity_mL,
        row=rule.words,
        width=rule.width,
        height=rule.height,
        asked=asked,
        source=rule.source,
        needs=f"All that it must say fits on {needed}: choose that size, or print the plain label."
        if needed
        else "What it must say fits on none of the table's labels: shorten the name, or print the plain label.",
    )


def _needed(content: LabelContent, rule: SizeRule) -> LabelSize | None:
    """Return the smallest label of those we know on which this container's full label can be printed."""
    rows = [LabelSize(row.width, row.height) for row in SIZE_RULES if row.width >= rule.width]
    return next((size for size in (*SMALLER, *rows) if _drawn(content, size, rule, False)), None)
