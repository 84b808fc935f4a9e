"""A sum that was worked out: the answer first, then the numbers with their doubt and source, then the evidence."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from django.utils.safestring import SafeString

from labstock.chemistry.display import NO_BREAK, show, show_number, with_unit
from labstock.chemistry.uncertain import UFloat, budget
from labstock.look.words import with_doubt

Sign = Literal["yes", "limit", "ask", "stop", "caution", "no"]
SMALLEST_SHARE = 0.0005  # of the variance; smaller contributions are counted together


@dataclass(frozen=True)
class Figure:
    """One number of the result: what it is, its value with unit and ±, and what it rests on."""

    name: str
    shown: SafeString | str
    source: str = ""


@dataclass(frozen=True)
class Cell:
    """One cell of a table; numbers stand at the end of their column."""

    shown: SafeString | str
    is_number: bool = False


@dataclass(frozen=True)
class Row:
    """One line of a table: its name, and the cells with the heads they belong to."""

    name: SafeString | str
    cells: tuple[tuple[str, Cell], ...]
    is_chosen: bool = False


@dataclass(frozen=True)
class Table:
    """A table of evidence."""

    title: str
    heads: tuple[tuple[str, bool], ...]
    rows: tuple[Row, ...]
    note: str = ""


@dataclass(frozen=True)
class Worked:
    """A worked-out sum, ready to be shown."""

    sign: Sign
    word: str
    why: tuple[SafeString | str, ...] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    cautions: tuple[tuple[str, str], ...] = ()
    sources: tuple[str, ...] = ()
    picture: SafeString = field(default_factory=SafeString)
    picture_title: str = ""
    links: tuple[tuple[str, str], ...] = ()


def figure(name: str, value: UFloat | float, unit: str, source: str = "") -> Figure:
    """Make a line of the result, with ± for 95 % where there is a doubt."""
    return Figure(name, with_doubt(show(value, unit)), source)


def bound(name: str, value: float, unit: str, source: str = "") -> Figure:
    """Make a line for a number that is an upper bound: its doubt is in it, and it says so."""
    return Figure(
        name, SafeString(f'<span class="num">≤{NO_BREAK}{three_figures(value, unit)}</span>'), source
    )


def three_figures(value: float, unit: str) -> str:
    """Write a number that is known to no more than three figures."""
    return with_unit(show_number(f"{value:.3g}" if value < 1000 else f"{value:.0f}"), unit)


def table(
    title: str, heads: Sequence[str], rows: Iterable[Sequence[Any]], note: str = "", chosen: Any = None
) -> Table:
    """Make a table. A head that ends in a comma and a unit, or in "#", is a column of numbers."""
    marked = [(head.removesuffix("#"), head.endswith("#") or "," in head) for head in heads]
    made = []
    for first, *rest in rows:
        cells = [
            (head, Cell(shown, is_number)) for (head, is_number), shown in zip(marked[1:], rest, strict=True)
        ]
        made.append(Row(first, tuple(cells), first == chosen))
    return Table(title, tuple(marked), tuple(made), note)


def budget_table(
    result: UFloat, unit: str, of: str, names: Mapping[str, str] | None = None
) -> tuple[Table, ...]:
    """Say where the ± comes from: each input's part of the standard uncertainty, largest first."""
    lines = budget(result)
    kept = [line for line in lines if line.share >= SMALLEST_SHARE]
    rows = [
        ((names or {}).get(line.name, line.name) or "an input without a name", three_figures(line.amount, ""), f"{line.share:.1%}".replace("%", f"{NO_BREAK}%"))
        for line in kept
    ]  # fmt: skip
    if not rows:
        return ()
    left_out = len(lines) - len(kept)
    note = f"Shares are of u², which adds up (JCGM 100:2008, 5.1.2). Standard uncertainty in all: {show_number(float(f'{float(result.s):.2g}'))} {unit}."
    if left_out:
        note += f" {left_out} inputs with less than 0.05 % are left out."
    return (table(f"Where the ± of {of} comes from", ("Input", f"Brings, {unit}", "Share#"), rows, note),)
