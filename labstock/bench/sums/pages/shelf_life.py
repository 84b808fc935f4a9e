"""Shelf life of kept material: fit, pooling, picture, and how far it may be claimed."""

from typing import Any

from django.utils.safestring import SafeString

from batches.retained.shelf_life import POOLING_LEVEL, BatchLine, ShelfLife, extrapolation_cap, shelf_life
from labstock.bench.sums.forms.shelf_life import Row
from labstock.bench.sums.worked import Figure, Table, Worked, figure, table
from labstock.chemistry.display import NO_BREAK, show
from labstock.chemistry.uncertain import normal
from labstock.look.drawing.shelf_life_chart import Life, Line, shelf_life_chart

Q1E = "ICH Q1E, Evaluation for stability data (2003): pooling tests at 0.25, slopes first, then intercepts; 95 % limit of the mean line"
CAP = "extrapolation: at most twice the data and 12 months beyond, less when refrigerated (ICH Q1E, from memory)"


def evaluate(typed: dict[str, Any]) -> Worked:
    """Fit the rows and say how long the limit is kept."""
    rows: list[Row] = typed["rows"]
    batches: dict[str, list[tuple[float, float]]] = {}
    for batch, month, value in rows:
        batches.setdefault(batch, []).append((month, value))
    unit = typed["unit"].strip()
    found = shelf_life(
        batches, typed["limit"], typed["side"], typed["limits"] == "two", storage=typed["storage"], unit=unit
    )
    return Worked(
        "limit",
        _word(found),
        (found.words,),
        tuple(_figures(found, rows, unit)),
        (*_tests(found), _lines(found, unit)),
        sources=(Q1E, CAP, "a model: it never replaces looking at the sample"),
        picture=SafeString(shelf_life_chart(_drawn(found, rows, typed["limit"], unit))),
        picture_title="Fit, band and limit",
    )  # fmt: skip


def _word(found: ShelfLife) -> str:
    months = found.claimable_months
    if months is None or months >= found.cap_months:
        return f"At most {found.cap_months:g}{NO_BREAK}months may be claimed, by the model"
    return f"{months:.1f}{NO_BREAK}months by the model" if months > 0 else "No shelf life can be claimed"


def _figures(found: ShelfLife, rows: list[Row], unit: str) -> list[Figure]:
    line = found.line()
    months = "never" if found.months is None else f"{found.months:.1f}{NO_BREAK}months"
    slope_u, start_u = line.variance[2] ** 0.5, line.variance[0] ** 0.5
    return [
        Figure("The limit is met at", months, "confidence limit of the mean line"),
        Figure("The batch that decides", found.worst_batch),
        figure(
            "Start of its line",
            normal(line.intercept, start_u),
            unit,
            f"t = {line.t:.3f}, {line.degrees} degrees of freedom",
        ),
        figure("Change a month", normal(line.slope, slope_u), f"{unit}/month".lstrip("/")),
        Figure("Data reach to", f"{max(month for _, month, _ in rows):g}{NO_BREAK}months"),
        Figure(
            "Nothing may be claimed beyond",
            f"{found.cap_months:g}{NO_BREAK}months",
            "the shortest batch sets it",
        ),
        Figure(
            "Without statistics it would be",
            f"{extrapolation_cap(_reach(rows), 'room', False):g}{NO_BREAK}months",
        ),
    ]


def _reach(rows: list[Row]) -> float:
    last: dict[str, float] = {}
    for batch, month, _ in rows:
        last[batch] = max(month, last.get(batch, 0.0))
    return min(last.values())


def _tests(found: ShelfLife) -> tuple[Table, ...]:
    if not found.tests:
        return ()
    rows = [
        (
            f"same {test.what}?",
            f"{test.f:.3f}",
            f"{test.degrees[0]}, {test.degrees[1]}",
            f"{test.p:.3f}",
            f"pooled: p above {POOLING_LEVEL}"
            if test.is_pooled
            else f"kept apart: p not above {POOLING_LEVEL}",
        )
        for test in found.tests
    ]
    return (
        table(
            "May the batches be pooled",
            ("Question", "F#", "Degrees#", "p#", "Verdict"),
            rows,
            f"Model chosen: {found.model}.",
        ),
    )


def _lines(found: ShelfLife, unit: str) -> Table:
    rows = [
        (
            f"{line.batch}, decides"
            if line.batch == found.worst_batch and len(found.lines) > 1
            else line.batch,
            show(normal(line.intercept, line.variance[0] ** 0.5), ""),
            show(normal(line.slope, line.variance[2] ** 0.5), ""),
            f"{line.slope_f:.1f}",
            "never" if line.months is None else f"{line.months:.1f}",
        )
        for line in found.lines
    ]
    heads = (
        "Line",
        f"At month 0, {unit}" if unit else "At month 0#",
        f"A month, {unit}" if unit else "A month#",
        "F of the slope#",
        "Meets the limit, months",
    )
    return table("Lines", heads, rows)


def _drawn(found: ShelfLife, rows: list[Row], limit: float, unit: str) -> Life:
    lines = [
        Line(line.batch, line.value, _standard_error(line), line.batch == found.worst_batch)
        for line in found.lines
    ]
    return Life(rows, lines, limit, found.months, _reach(rows), found.cap_months, unit)


def _standard_error(line: BatchLine) -> Any:
    return lambda month: (line.band(month)[2] - line.value(month)) / line.t
