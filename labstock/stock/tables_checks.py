"""The list of stock checks."""

from collections.abc import Mapping

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.chemistry.display import show_percent
from labstock.look import words
from labstock.stock.models import StockCheck
from labstock.stock.queries_checks import Tally


class CheckTable(tables.Table):
    """Stock checks, those that go on first."""

    title = tables.Column(verbose_name="What is checked", orderable=False)
    at = tables.Column(verbose_name="Begun", orderable=False)
    by = tables.Column(verbose_name="By", orderable=False)
    seen = tables.Column(verbose_name="Seen", orderable=False, empty_values=())
    share = tables.Column(verbose_name="Records that match", orderable=False, empty_values=())
    end = tables.Column(verbose_name="Ended", orderable=False, empty_values=(), accessor="pk")

    caption = "Stock checks"
    row_header = "title"
    empty_text = "No stock check yet"
    empty_why = "Choose a place, walk it with a scanner, and say what is there."

    class Meta:
        orderable = False

    tally_by_check: Mapping[int, Tally] = {}

    def render_title(self, record: StockCheck) -> SafeString:
        """Lead on to the walk, or to what came of it."""
        name = "check-result" if hasattr(record, "end") else "check"
        return format_html(
            '<a class="written" href="{}">{}</a>', reverse(name, args=[record.pk]), record.title
        )

    def render_at(self, record: StockCheck) -> SafeString | str:
        """Write when it began."""
        return words.moment(record.at)

    def render_seen(self, record: StockCheck) -> str:
        """Say how far it is."""
        tally = self.tally_by_check[record.pk]
        return f"{tally.seen} of {tally.expected}"

    def render_share(self, record: StockCheck) -> str:
        """Write the share of records that match."""
        share = self.tally_by_check[record.pk].share
        if share is None:
            return "–"
        return show_percent(share) + ("" if hasattr(record, "end") else " so far")

    def render_end(self, record: StockCheck) -> SafeString | str:
        """Write when it was ended."""
        return words.moment(record.end.at) if hasattr(record, "end") else "goes on"
