"""The stock list: one page of it, and all of it as a table to take away."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django_tables2 import RequestConfig

from labstock.chemistry.errors import LabError
from labstock.stock.filters import ContainerFilter
from labstock.stock.models import Container, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.queries import held_by_container
from labstock.stock.tables import CappedPaginator, ContainerTable, paged

MOST_EXPORTED = 20_000
AT_ONCE = 2_000
HEADINGS = (
    "code", "name", "CAS number", "supplier", "lot", "grade", "purity", "capacity", "left", "± (k = 2)", "heel", "held",
    "usable", "unit", "received on", "opened on", "ends on", "place", "owned by", "state", "reason",
)  # fmt: skip


@dataclass(frozen=True)
class StockList:
    """One page of the stock list."""

    sieve: ContainerFilter
    table: ContainerTable
    substance: Substance | None
    exported_by: str

    @property
    def count_words(self) -> str:
        """Say how many there are."""
        pages: CappedPaginator = self.table.paginator
        return pages.count_words("container")


def stock_list(request: HttpRequest) -> StockList:
    """Gather one page: the filtered containers, and what is held of those shown."""
    sieve = ContainerFilter(request.GET, queryset=containers_listed())
    table = container_table(request, sieve.qs, by_end=sieve.is_one_state, is_counted=sieve.is_counted)
    substance = sieve.form.cleaned_data.get("substance") if hasattr(sieve.form, "cleaned_data") else None
    return StockList(sieve, table, substance, request.GET.urlencode())


def container_table(
    request: HttpRequest, containers: QuerySet[Container], *, by_end: bool = True, is_counted: bool = True
) -> ContainerTable:
    """Page and order containers, and look up what is held of those on the page only."""
    table = ContainerTable(containers, by_end=by_end, order_by="ends" if by_end else "code")
    RequestConfig(request, paginate=paged(request, is_counted=is_counted)).configure(table)
    table.held_by_container = held_by_container([row.pk for row in table.containers_shown()])
    return table


def containers_listed() -> QuerySet[Container]:
    """Return containers with what a row shows of them."""
    # the lot says whether it is a solution, and with that whether its doubt grows by evaporation
    return Container.objects.select_related("substance", "lot", "location", "owner_group").defer(
        "search_text"
    )


def rows_to_export(request: HttpRequest) -> list[tuple[object, ...]]:
    """Return the filtered list as plain rows; too long a list is refused, never cut."""
    sieve = ContainerFilter(
        request.GET,
        queryset=containers_listed(),
    )
    found = list(sieve.qs.order_by("number")[: MOST_EXPORTED + 1])
    if len(found) > MOST_EXPORTED:
        raise LabError(
            "too-many-rows",
            "More than {most:,} containers fit, and one workbook takes {most:,}: narrow the list by place or state first.",
            most=MOST_EXPORTED,
        )
    return list(_rows(found))


def _rows(containers: list[Container]) -> Iterator[tuple[object, ...]]:
    now = timezone.now()
    for start in range(0, len(containers), AT_ONCE):
        part = containers[start : start + AT_ONCE]
        held = held_by_container([row.pk for row in part], now)
        yield from (_row(row, held.get(row.pk, 0)) for row in part)


def _row(container: Container, held: int) -> tuple[object, ...]:
    lot, substance = container.lot, container.substance
    usable = max(container.remaining - container.heel - held, 0)
    return (
        container.code, container.name, substance.cas if substance else "",
        lot.supplier if lot else "", lot.number if lot else "", lot.grade if lot else "", purity_words(container),
        container.capacity / MILLION, container.amount, round(2 * container.doubt.u, 6), container.heel / MILLION,
        held / MILLION, usable / MILLION, container.unit,
        container.received_on, container.opened_on, container.ends_on,
        str(container.location or ""), str(container.owner_group or ""),
        container.get_state_display(), container.state_because,
    )  # fmt: skip


def purity_words(container: Container) -> str:
    """Return the purity as the label states it, or that it does not."""
    return container.lot.claim.words if container.lot is not None else "not stated"
