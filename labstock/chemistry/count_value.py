"""What it is worth to count a container: the chance that the count changes a decision, times what the decision is worth.

Two things may be wrong with a record. The devices leave a band, which is known. And somebody may not have written
something down, which shows only in a count: up to about a fifth of records are wrong within a quarter without checks
(read on a trade page about stock rooms, no norm), so that the chance grows with the time since anybody measured.

Worth is given in failed sessions: 1 is one session that cannot go on. The weights of the other consequences are
common practice, no source; they order a list and decide nothing.
"""

from dataclasses import dataclass

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import probability_enough

QUARTER_DAYS = 365.25 / 4
RIGHT_AFTER_A_QUARTER = 0.8
FAILED_SESSION = 1.0
NO_OTHER_BOTTLE = 1.0
HAZARD = 0.2
UNNOTICED_END = 0.1
ANY_RECORD = 0.05


@dataclass(frozen=True)
class Record:
    """What is known of a container, and what hangs on it.

    Parameters
    ----------
    book, u : float
        Book amount and its standard uncertainty [unit].
    heel : float
        Amount that cannot be got out [unit].
    days : float
        Time since somebody last measured what is in it [d].
    need : float
        Amount promised to coming sessions [unit].
    sessions : int
        How many sessions that is [-].
    is_only : bool
        No other container of the substance can be used [-].
    is_dangerous : bool
        Its hazards have the signal word Danger [-].
    """

    book: float
    u: float
    heel: float
    days: float
    need: float = 0.0
    sessions: int = 0
    is_only: bool = False
    is_dangerous: bool = False


@dataclass(frozen=True)
class Worth:
    """What a count is worth, with the factors that it was worked out from.

    Parameters
    ----------
    wrong : float
        Chance that something was not written down, 0 to 1 [-].
    short : float
        Chance that the coming sessions do not get what they were promised, 0 to 1 [-].
    turns : float
        Chance that a count changes what is decided about them, 0 to 1 [-].
    stake : float
        What fails if the decision is wrong [failed sessions].
    other : float
        What hangs on the record besides the sessions [failed sessions].
    """

    wrong: float
    short: float
    turns: float
    stake: float
    other: float

    @property
    def value(self) -> float:
        """Chance times consequence, both decisions together [failed sessions]."""
        return self.turns * self.stake + self.wrong * self.other


def chance_of_wrong(days: float) -> float:
    """Find the chance that something was not written down since a container was last measured.

    Parameters
    ----------
    days : float
        Time since then [d].

    Returns
    -------
    float
        The chance, 0 to 1 [-].

    Notes
    -----
    Source: a fifth within a quarter, and the same share of what is still right in each further one; see the module.

    Examples
    --------
    >>> round(chance_of_wrong(QUARTER_DAYS), 2), round(chance_of_wrong(2 * QUARTER_DAYS), 2)
    (0.2, 0.36)
    """
    if not days >= 0:
        raise LabError(
            "negative-time",
            "A record cannot be {days} days old: give the days since it was measured.",
            days=days,
        )
    return 1 - float(RIGHT_AFTER_A_QUARTER ** (days / QUARTER_DAYS))


def chance_of_short(record: Record, wrong: float) -> float:
    """Find the chance that coming sessions do not get what they were promised.

    Parameters
    ----------
    record : Record
        The container [unit].
    wrong : float
        Chance that something was not written down, 0 to 1 [-].

    Returns
    -------
    float
        The chance, 0 to 1; 0 where nothing is promised [-].

    Notes
    -----
    Where the record is right, the band decides. Where it is wrong, the truth lies anywhere from nothing to the book
    amount: what goes unwritten is nearly always a draw. Rule of this project.

    Examples
    --------
    >>> record = Record(book=52, u=2.5, heel=1.5, days=0, need=50, sessions=1)
    >>> round(chance_of_short(record, 0.0), 2), round(chance_of_short(record, 1.0), 2)
    (0.42, 0.99)
    """
    if not record.sessions:
        return 0.0
    by_band = 1 - probability_enough(record.book, record.u, record.need, record.heel)
    wanted = record.need + record.heel
    by_gap = min(1.0, wanted / record.book) if record.book > 0 else 1.0
    return (1 - wrong) * by_band + wrong * by_gap


def worth_of_count(record: Record) -> Worth:
    """Find what a count of a container is worth.

    Parameters
    ----------
    record : Record
        The container, and what hangs on it [unit].

    Returns
    -------
    Worth
        Chances and consequences; their product is `value` [failed sessions].

    Notes
    -----
    A count turns a decision where it finds what was not expected: a shortage where enough was likely, or enough where
    a shortage was. Source of the weights: common practice, no source.

    Examples
    --------
    >>> sure = Record(book=500, u=2, heel=1.5, days=0, need=50, sessions=1)
    >>> tight = Record(book=52, u=2.5, heel=1.5, days=0, need=50, sessions=1)
    >>> round(worth_of_count(sure).value, 2), round(worth_of_count(tight).value, 2)
    (0.0, 0.42)
    """
    wrong = chance_of_wrong(record.days)
    short = chance_of_short(record, wrong)
    other = ANY_RECORD + HAZARD * record.is_dangerous + UNNOTICED_END * record.is_only
    stake = FAILED_SESSION * record.sessions + NO_OTHER_BOTTLE * (record.is_only and record.sessions > 0)
    return Worth(wrong, short, min(short, 1 - short), stake, other)
