"""Ages and the order of uncertain dates, from their strict bounds."""

from datetime import date
from typing import Any
from urllib.parse import quote

from django.utils.safestring import SafeString

from batches.retained.ages import Age, age_range, order, order_words
from batches.retained.edtf import EdtfDate, day_words, suggest_edtf
from labstock.bench.sums.worked import Figure, Worked, table
from labstock.chemistry.errors import LabError
from labstock.look.pictures import age_range as draw_age

EDTF = "strict bounds of ISO 8601-2:2019 (Library of Congress, EDTF, 4 February 2019): a mark ? or ~ says doubt, the standard gives no number of years for it"


def age(typed: dict[str, Any]) -> Worked:
    """Say what a date means, and how old that makes a sample."""
    edtf: EdtfDate = typed["edtf"]
    on: date = typed["on"]
    found = age_range(edtf, on)
    return Worked(
        "yes" if edtf.is_one_day else "limit",
        found.words[0].upper() + found.words[1:],
        (f"{edtf.text} means {edtf.words}", *_marks(edtf)),
        (
            Figure("First possible day", _day(edtf.earliest, edtf.start_open)),
            Figure("Last possible day", _day(edtf.latest, edtf.end_open)),
            Figure("Youngest", _age(found.shortest), f"on {day_words(on)}"),
            Figure("Oldest", _age(found.longest), f"on {day_words(on)}"),
        ),
        sources=(EDTF, "whole years, months and days by the calendar (common practice, no source)"),
        picture=draw_age(edtf.earliest, edtf.latest, on, edtf.is_approximate, f"{edtf.text}, {found.words}"),
        picture_title="When, and how old",
    )


def _marks(edtf: EdtfDate) -> tuple[str, ...]:
    marks = (
        (edtf.is_uncertain, "uncertain: it may be another date"),
        (edtf.is_approximate, "approximate: it is about then"),
    )
    return tuple(words for is_so, words in marks if is_so)


def _day(day: date | None, how: str) -> str:
    if day is not None:
        return day_words(day)
    return "open: no limit is stated" if how == "open" else "not known: there is a limit, nobody knows it"


def _age(found: Age | None) -> str:
    if found is None:
        return "not known: that end is open"
    days = f"{found.total_days:,}".replace(",", "\u00a0")
    return f"{found} ({days} days)"


def in_order(typed: dict[str, Any]) -> Worked:
    """Say which of two dates is the earlier, where that can be told."""
    first, second = typed["first"], typed["second"]
    found = order(first, second)
    words = order_words(first, second)
    return Worked(
        "ask" if found == "not decidable" else "yes",
        {"before": "The first is the earlier", "after": "The second is the earlier", "same day": "The same day"}.get(found, "Not decidable"),
        (words,),
        tables=(
            table(
                "The two dates",
                ("Date", "Means", "First possible day", "Last possible day"),
                [(each.text, each.words, _day(each.earliest, each.start_open), _day(each.latest, each.end_open)) for each in (first, second)],
            ),
        ),
        sources=(EDTF,),
    )  # fmt: skip


def from_label(typed: dict[str, Any]) -> Worked:
    """Say what a label's text may mean, every reading of it."""
    text = typed["label"]
    found = suggest_edtf(text)
    if not found:
        raise LabError(
            "no-date-in-label",
            "No date is recognised in '{text}': keep the text as it is, and write the date in EDTF yourself, such as 1934~.",
            text=text,
        )
    return Worked(
        "yes" if len(found) == 1 else "ask",
        found[0].edtf if len(found) == 1 else f"{len(found)} readings: choose one",
        ("the label stays as written; a reading is a suggestion until a person takes it",),
        tables=(table("Readings", ("EDTF", "Because"), [(SafeString(f'<span class="code">{each.edtf}</span>'), each.why) for each in found]),),
        links=tuple((f"?ask=age&edtf={quote(each.edtf, safe='')}", f"Age of {each.edtf}") for each in found),
        sources=(EDTF,),
    )  # fmt: skip
