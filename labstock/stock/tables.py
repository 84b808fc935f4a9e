"""The long lists: the stock, and the substances."""

from collections.abc import Mapping
from typing import Any

import django_tables2 as tables
from django.core.paginator import Paginator
from django.db.models import F, QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.look import words
from labstock.look.templatetags.look import vessel
from labstock.stock.models import Container, State, Substance
from labstock.stock.models.container import MILLION

PER_PAGE = 25
MOST_PAGED = 10_000


def paged(request: HttpRequest, *, is_counted: bool = True) -> dict[str, Any]:
    """Return how a table is paged. What is not counted is looked at as far as the page asked for and one row on."""
    asked = request.GET.get("page", "")
    page = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < len(str(MOST_PAGED)) else 1
    most = MOST_PAGED if is_counted else min(max(page, 1) * PER_PAGE + 1, MOST_PAGED)
    return {"per_page": PER_PAGE, "paginator_class": CappedPaginator, "most": most, "silent": True}


class CappedPaginator(Paginator):
    """Pages through the first ten thousand rows; counting stops there, so a long list costs no more than a short one."""

    object_list: Any  # the rows of a table

    def __init__(self, *args: Any, most: int = MOST_PAGED, **options: Any) -> None:
        super().__init__(*args, **options)
        self.most = most

    @cached_property
    def count(self) -> int:
        """Return how many rows are paged through."""
        queryset: QuerySet[Any] = self.object_list.data.data
        if self.most == MOST_PAGED:  # less is met soonest in the order it is shown in
            queryset = queryset.order_by()
        return queryset[: self.most].count()

    @property
    def is_capped(self) -> bool:
        """Say whether there may be more than is paged through."""
        return self.count >= self.most

    def count_words(self, noun: str) -> str:
        """Say how many there are, as far as they were counted."""
        if not self.is_capped:
            return f"{self.count:,} {noun}{'' if self.count == 1 else 's'}"
        if self.most < MOST_PAGED:
            return f"More than {self.count - 1:,} {noun}s: turn the pages, or narrow the list"
        return f"More than {self.count - 1:,} {noun}s; the first {self.count:,} are paged: narrow the list"


# On a phone, what goes without saying is left out.
ROOMY = {"td": {"class": "roomy"}}


def _roomy_in_use(record: Container) -> str:
    return "roomy" if record.state == State.IN_USE else ""


def _roomy_unless_held(record: Container, table: "ContainerTable") -> str:
    return "n" if table.held_by_container.get(record.pk) else "n roomy"


def _number(more: object = "") -> dict[str, Any]:
    """Return the attributes of a column of numbers; `more` is a class, or a function that gives the classes."""
    return {"td": {"class": more if callable(more) else f"n {more}".strip()}, "th": {"class": "n"}}


class ContainerTable(tables.Table):
    """Containers; `held` says how much of each row's container is promised [millionths]."""

    name = tables.Column(verbose_name="Container", orderable=False, empty_values=())
    code = tables.Column(verbose_name="Code", order_by=("number",))
    amount = tables.Column(verbose_name="Left", orderable=False, empty_values=(), attrs=_number("lead"))
    usable = tables.Column(verbose_name="Usable", orderable=False, empty_values=(), attrs=_number())
    held = tables.Column(
        verbose_name="Held", orderable=False, empty_values=(), attrs=_number(_roomy_unless_held)
    )
    opened = tables.Column(
        accessor="opened_on", orderable=False, empty_values=(), attrs=ROOMY, verbose_name="Opened"
    )
    ends = tables.Column(verbose_name="Ends", accessor="ends_on", empty_values=())
    location = tables.Column(verbose_name="Place", orderable=False, empty_values=())
    owner_group = tables.Column(verbose_name="Owned by", orderable=False, empty_values=(), attrs=ROOMY)
    state = tables.Column(verbose_name="State", orderable=False, attrs={"td": {"class": _roomy_in_use}})

    caption = "Containers"
    row_header = "name"
    empty_text = "No container fits"
    empty_why = (
        "Fewer words, another state or another place may find it. What was never received is not on the list."
    )

    class Meta:
        orderable = True
        empty_text = "No container fits"

    def __init__(self, *args: Any, by_end: bool = True, **options: Any) -> None:
        self.held_by_container: Mapping[int, int] = {}
        self.today = timezone.localdate()
        super().__init__(*args, **options)
        if not by_end:
            # without one state no index gives this order, and a long list would be sorted as a whole
            self.columns["ends"].column.orderable = False

    def containers_shown(self) -> list[Container]:
        """Return the containers of the page that is shown."""
        return list(self.page.object_list.data) if hasattr(self, "page") else list(self.data)

    def order_ends(
        self, queryset: QuerySet[Container], is_descending: bool
    ) -> tuple[QuerySet[Container], bool]:
        """Soonest first; what has no end comes last."""
        by = F("ends_on").desc(nulls_last=True) if is_descending else F("ends_on").asc(nulls_last=True)
        return queryset.order_by(by, "-pk" if is_descending else "pk"), True

    def render_name(self, record: Container) -> SafeString:
        """Draw the vessel small beside the name."""
        held = self.held_by_container.get(record.pk, 0) / MILLION
        drawn = vessel(
            record.vessel, record.capacity / MILLION, record.amount, record.doubt.u, record.heel / MILLION, held,
            unit=record.unit, size="s", sealed=record.opened_on is None, state=record.state,
        )  # fmt: skip
        return format_html(
            '{} <a class="written" href="{}">{}</a>',
            drawn,
            reverse("container", args=[record.code]),
            record.name,
        )

    def render_code(self, record: Container) -> SafeString:
        """Set the check character apart."""
        return words.code(record.code)

    def render_amount(self, record: Container) -> SafeString:
        """Write what is left with its doubt."""
        return words.amount((record.amount, record.doubt.u), record.unit)

    def render_usable(self, record: Container) -> SafeString:
        """Write what is neither heel nor held."""
        left = max(record.remaining - record.heel - self.held_by_container.get(record.pk, 0), 0) / MILLION
        return words.amount((left, record.doubt.u if left else 0), record.unit)

    def render_held(self, record: Container) -> SafeString | str:
        """Write what is promised to sessions."""
        held = self.held_by_container.get(record.pk, 0)
        return words.amount(held / MILLION, record.unit) if held else _quiet("none")

    def render_opened(self, record: Container) -> SafeString | str:
        """Write the day of the first draw."""
        return words.full_day(record.opened_on) if record.opened_on else _quiet("sealed")

    def render_ends(self, record: Container) -> SafeString | str:
        """Write the earlier of expiry and retest, and whether it is past."""
        if record.ends_on is None:
            return _quiet("not stated")
        if record.ends_on < self.today:
            return format_html("<span><b>{}</b> past</span>", words.full_day(record.ends_on))
        return words.full_day(record.ends_on)

    def render_location(self, record: Container) -> SafeString | str:
        """Write the way from the room."""
        return str(record.location) if record.location else _quiet("not known")

    def render_owner_group(self, record: Container) -> SafeString | str:
        """Write whose it is."""
        return str(record.owner_group) if record.owner_group else _quiet("the whole lab")

    def render_state(self, record: Container) -> str:
        """Write whether it may be used."""
        return record.get_state_display()


class SubstanceTable(tables.Table):
    """Substances; `stocked` says how many containers of each are in use."""

    name = tables.Column(verbose_name="Substance")
    formula = tables.Column(verbose_name="Formula", orderable=False, empty_values=())
    cas = tables.Column(verbose_name="CAS number", orderable=False, empty_values=())
    flags = tables.Column(verbose_name="Keep in mind", orderable=False, empty_values=())
    stocked = tables.Column(
        verbose_name="In use",
        orderable=False,
        empty_values=(),
        attrs={"td": {"class": "n"}, "th": {"class": "n"}},
    )

    caption = "Substances"
    row_header = "name"
    empty_text = "No substance fits"
    empty_why = "Fewer words may find it; every other name counts too."

    class Meta:
        empty_text = "No substance fits"

    stocked_by_substance: Mapping[int, int] = {}

    def render_name(self, record: Substance) -> SafeString:
        """Link to its page."""
        return format_html(
            '<a class="written" href="{}">{}</a>', reverse("substance", args=[record.pk]), record.name
        )

    def render_formula(self, record: Substance) -> SafeString:
        """Lower the counts."""
        return words.formula(record.formula) if record.formula else words.UNKNOWN

    def render_cas(self, record: Substance) -> SafeString | str:
        """Write the number, or that there is none."""
        return format_html('<span class="num">{}</span>', record.cas) if record.cas else words.UNKNOWN

    def render_flags(self, record: Substance) -> str:
        """Write the two flags in words."""
        flags = [
            word
            for is_set, word in (
                (record.is_moisture_sensitive, "keep dry"),
                (record.is_peroxide_former, "forms peroxides"),
            )
            if is_set
        ]
        return ", ".join(flags)

    def render_stocked(self, record: Substance) -> str:
        """Count its containers in use."""
        count = self.stocked_by_substance.get(record.pk, 0)
        return "none" if not count else f"{count}"


def _quiet(word: str) -> SafeString:
    return format_html('<span class="quiet">{}</span>', word)
