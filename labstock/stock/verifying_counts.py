"""Do the counts of a stock check agree with the lines they made?"""

from collections.abc import Iterator

from labstock.stock.codes import show_code
from labstock.stock.models import CheckSettled


def wrong_counts(using: str) -> Iterator[tuple[str, str]]:
    """Yield which count is settled by a line that is not its own, and how."""
    rows = CheckSettled.objects.using(using).select_related("count__container", "entry__container")
    for row in rows.order_by("pk").iterator(chunk_size=1000):
        count, line = row.count, row.entry
        where = f"{show_code(count.container.code)}, count {count.pk}"
        if line.container_id != count.container_id:
            yield where, f"is settled by a line of another container, {show_code(line.container.code)}"
        elif (line.typed, line.device, line.gross_ug) != (count.typed, count.device, count.gross_ug):
            yield where, f"says {count.typed}, line {line.seq} that settles it says {line.typed}"
