"""The list of batches."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from batches.models import Batch
from labstock.chemistry.display import show
from labstock.look.words import day, with_doubt


class BatchTable(tables.Table):
    """Batches, one line each."""

    title = tables.Column(verbose_name="Batch")
    number = tables.Column(attrs={"td": {"class": "lead num"}})
    state = tables.Column()
    owner = tables.Column(verbose_name="By", order_by=("owner__last_name", "owner__first_name"))
    planned_at = tables.Column(verbose_name="When")
    yield_percent = tables.Column(
        verbose_name="Yield", empty_values=(), attrs={"th": {"class": "n"}, "td": {"class": "n"}}
    )

    caption = "Batches"
    row_header = "title"
    empty_why = "A batch begins with a plan: an equation, a scale, and the containers that could serve."

    class Meta:
        model = Batch
        fields = ("title", "number", "state", "owner", "planned_at", "yield_percent")
        template_name = "look/table.html"
        empty_text = "No batch is like that"
        order_by = ()

    def render_title(self, value: str, record: Batch) -> SafeString:
        """Link to the record."""
        return format_html('<a href="{}">{}</a>', reverse("batch", args=[record.number]), value)

    def render_planned_at(self, record: Batch) -> SafeString | str:
        """Say the day it was finished, begun or planned, whichever came last."""
        return day(record.finished_at or record.started_at or record.planned_at)

    def render_yield_percent(self, record: Batch) -> SafeString | str:
        """Say the yield with its doubt, or that there is none yet."""
        if record.yield_percent is None:
            return "none" if not record.is_open else "not yet"
        return with_doubt(show(record.yield_percent, "%", record.yield_u_percent))
