"""What a count is worth: by hand for one bottle, and by simulation for a shelf of them."""

from dataclasses import dataclass, replace
from random import Random

import pytest

from labstock.chemistry.count_value import (
    QUARTER_DAYS,
    Record,
    chance_of_short,
    chance_of_wrong,
    worth_of_count,
)
from tests.builders import refused

TIGHT = Record(book=52, u=2.5, heel=1.5, days=0, need=50, sessions=1)


def test_a_record_just_measured_is_right():
    assert chance_of_wrong(0) == 0


def test_a_fifth_of_records_is_wrong_after_a_quarter_and_ever_more_later():
    # "up to about a fifth within a quarter without checks": read on a trade page about stock rooms, no norm
    assert chance_of_wrong(QUARTER_DAYS) == pytest.approx(0.2)
    assert chance_of_wrong(4 * QUARTER_DAYS) == pytest.approx(1 - 0.8**4)


def test_a_record_from_the_future_is_refused():
    with refused("A record cannot be -1 days old"):
        chance_of_wrong(-1)


def test_fifty_of_fifty_two_is_no_yes():
    # 52 ± 2.5 mL with a heel of 1.5 mL gives 50 mL with Φ(0.2) = 0.579 (table of the normal distribution)
    assert chance_of_short(TIGHT, 0.0) == pytest.approx(1 - 0.5793, abs=1e-4)


def test_where_the_record_is_wrong_the_truth_lies_anywhere_below_the_book():
    assert chance_of_short(replace(TIGHT, need=11.5), 1.0) == pytest.approx(13 / 52)


def test_a_bottle_with_plenty_is_worth_little_and_a_tight_one_much():
    plenty = replace(TIGHT, book=500)
    assert worth_of_count(plenty).value < 0.001 < 0.4 < worth_of_count(TIGHT).value


def test_a_bottle_that_is_surely_short_is_worth_no_count_either():
    # nobody needs a count to know that 10 mL do not give 50 mL
    assert worth_of_count(replace(TIGHT, book=10)).value < 0.001


def test_the_only_bottle_and_a_second_session_weigh_more():
    alone = worth_of_count(replace(TIGHT, is_only=True))
    twice = worth_of_count(replace(TIGHT, sessions=2))
    assert (alone.stake, twice.stake, worth_of_count(TIGHT).stake) == (2, 2, 1)


def test_an_empty_book_with_a_promise_is_short_for_certain():
    assert chance_of_short(replace(TIGHT, book=0, u=0), 0.5) == 1


# ------------------------------------------------------------ at equal minutes

LABS, BOTTLES, MINUTES = 60, 200, 20
UNWRITTEN, VANISHED = 0.05, 0.02


@dataclass(frozen=True)
class Bottle:
    """A bottle as the book has it, and what is really in it."""

    name: str
    record: Record
    truth: float

    @property
    def saved(self) -> float:
        """Return what a count saves: the sessions that would have failed, and one more where no other bottle helps."""
        is_short = self.record.sessions > 0 and self.truth - self.record.heel < self.record.need
        return is_short * (self.record.sessions + self.record.is_only)


def bottle(chance: Random) -> Bottle:
    """Make a bottle by a story that knows nothing of the formula: draws, some of them not written down."""
    book = truth = start = chance.uniform(50, 500)
    days = chance.uniform(0, 365)
    draws = int(chance.expovariate(1 / (days / 30 + 0.01)))
    for _ in range(draws):
        size = min(chance.uniform(2, 20), book)
        truth -= size * chance.gauss(1, 0.03)
        book -= 0 if chance.random() < UNWRITTEN else size
    truth = 0 if chance.random() < VANISHED else max(truth, 0)
    sessions = chance.choice([0, 0, 0, 1, 2])
    need = chance.uniform(0.1, 1) * max(book - 2, 0) if sessions else 0.0
    u = (0.01 * start) ** 2 + draws * 0.35**2
    record = Record(
        book=book, u=u**0.5, heel=2, days=days, need=need, sessions=sessions if need else 0,
        is_only=chance.random() < 0.3, is_dangerous=chance.random() < 0.3,
    )  # fmt: skip
    return Bottle("".join(chance.choices("abcdefghijklmnopqrstuvwxyz", k=6)), record, truth)


ORDERS = {
    "worth": lambda one: -worth_of_count(one.record).value,
    "alphabet": lambda one: one.name,
    "danger first, as A, B, C": lambda one: (not one.record.is_dangerous, one.name),
    "longest not measured": lambda one: -one.record.days,
    "largest promise": lambda one: -one.record.need,
    "worth, turned round": lambda one: worth_of_count(one.record).value,
}


def saved_by(order, seed: int = 4817) -> float:
    """Return the failed sessions that counting in an order saves, over all labs, a bottle a minute."""
    chance = Random(seed)
    labs = [[bottle(chance) for _ in range(BOTTLES)] for _ in range(LABS)]
    return sum(one.saved for lab in labs for one in sorted(lab, key=order)[:MINUTES])


def test_counting_what_is_worth_most_saves_more_sessions_in_the_same_minutes():
    saved = {name: saved_by(order) for name, order in ORDERS.items()}
    assert saved["worth"] > 3 * saved["alphabet"]
    assert saved["worth"] > 3 * saved["danger first, as A, B, C"]
    assert saved["worth"] > 1.5 * max(saved["longest not measured"], saved["largest promise"])
    assert saved["worth, turned round"] < saved["alphabet"] / 2


def test_it_does_so_whatever_the_seed():
    for seed in range(3):
        assert saved_by(ORDERS["worth"], seed) > 3 * saved_by(ORDERS["alphabet"], seed)
