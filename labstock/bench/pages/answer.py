"""The one answer a container's page begins with: how much may I take?"""

from dataclasses import dataclass
from datetime import date

from django.utils.html import format_html

from labstock.bench.pages.amounts import decimals_of, left_words, rounded_down, short, tied
from labstock.bench.pages.dates import Dates, needs_peroxide_test
from labstock.bench.pages.strength import Strength
from labstock.bench.pages.trouble import Troubles
from labstock.chemistry.display import NO_BREAK, show, show_number
from labstock.chemistry.evaporation import words_for_loss
from labstock.stock.models import Container, State
from labstock.stock.queries import Availability


@dataclass(frozen=True)
class Answer:
    """A sign, a sentence, and the reasons under it."""

    sign: str
    word: str
    why: tuple[str, ...]


def answer_for(
    container: Container,
    left: Availability,
    dates: Dates,
    strength: Strength,
    trouble: Troubles | None = None,
) -> Answer:
    """Say whether a person may take from it, and how much; what somebody saw on it may ask for care."""
    how_strong = (trouble.doubt_words if trouble else "") or _strength(container, strength)
    closed = _closed(container)
    if closed:
        return Answer(*closed, _why(container, left, dates, how_strong))
    sure = rounded_down(left.sure, decimals_of(container))
    amount = tied(sure, container.unit)
    reason = (trouble.ask_because if trouble else "") or _ask_because(container, dates)
    if reason:
        return Answer("ask", f"Ask first: {reason}", _why(container, left, dates, how_strong))
    if float(sure) > 0:
        sign = "limit" if left.held_by_others else "yes"
        return Answer(sign, f"Yes, up to {amount}", _why(container, left, dates, how_strong))
    return Answer(*_nothing_sure(container, left), _why(container, left, dates, how_strong))


def _closed(container: Container) -> tuple[str, str] | None:
    because = f": {container.state_because}" if container.state_because else ""
    return {
        State.BLOCKED: ("stop", f"No: blocked{because}"),
        State.EMPTY: ("empty", f"No: empty{because}"),
        State.DISPOSED: ("no", f"No: disposed of{because}"),
    }.get(State(container.state))


def _ask_because(container: Container, dates: Dates) -> str:
    if container.state == State.NOT_SEEN:
        return "it was not seen where it should be"
    if dates.is_over and dates.ends_on:
        what = "its retest was due" if dates.rule == "Retest" else "it expired"
        return f"{what} {_day(dates.ends_on)}"
    if needs_peroxide_test(container, dates.today):
        return "it forms peroxides; test it before use"
    return ""


def _nothing_sure(container: Container, left: Availability) -> tuple[str, str]:
    if left.held_by_others and left.book > left.heel:
        return "limit", "No: all of it is held by others"
    if left.usable > 0:
        return "ask", f"Perhaps: {left_words(container)} in the book, none of it sure"
    return "empty", "No: nothing that could be got out is left"


def _strength(container: Container, strength: Strength) -> str:
    """Say what to dose by: the concentration of a solution, the purity of anything else."""
    concentration = container.lot.concentration if container.lot else None
    if concentration is not None:
        return f"Dose by {show(concentration.nominal_value, 'mol/L', concentration.std_dev)}"
    return strength.sentence if container.substance_id else ""


def _why(container: Container, left: Availability, dates: Dates, how_strong: str) -> tuple[str, ...]:
    if container.state == State.DISPOSED:
        return ("Its record stays; the code is not given out again.",)
    lines = [
        _amounts(container, left),
        _evaporated(container, left),
        how_strong,
        _dates(container, dates),
    ]
    return tuple(line for line in lines if line)


def _amounts(container: Container, left: Availability) -> str:
    decimals = decimals_of(container)
    parts = []
    if left.held_by_others:
        parts.append(f"{short(left.held_by_others, decimals)} held")
    if left.heel:
        parts.append(f"{short(left.heel, decimals)} stays behind")
    # the unit stands in the answer above; three short parts stay on one line of a phone
    book = show_number(left.book, left.u) if parts else left_words(container)
    return ", ".join([f"{book} in it", *parts])


def _evaporated(container: Container, left: Availability) -> str:
    """Say what a model takes off what is sure, since the last line that fixed the amount."""
    lost = words_for_loss(left.drift, container.unit)
    return f"{lost[:1].upper()}{lost[1:]} may have evaporated (a model); weigh it to know" if lost else ""


def _dates(container: Container, dates: Dates) -> str:
    substance = container.substance
    is_watched = substance and (substance.is_moisture_sensitive or substance.is_peroxide_former)
    opened = ""
    if is_watched and container.opened_on:
        opened = f"; open for {(dates.today - container.opened_on).days} days"
    if dates.ends_on is None:
        return f"No end date on record{opened}"
    word = "Over since" if dates.is_over else "In date until"
    return format_html("{} <b>{}</b>{}", word, _day(dates.ends_on), opened)


def _day(on: date) -> str:
    return f"{on.day}{NO_BREAK}{on:%b}{NO_BREAK}{on.year}"
