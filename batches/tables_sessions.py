"""Long lists of sessions."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from labstock.look.words import from_to
from labstock.stock.models import Session


class SessionTable(tables.Table):
    """Sessions with what was held for them."""

    title = tables.Column(verbose_name="What for", orderable=False)
    when = tables.Column(accessor="starts_at", verbose_name="When", orderable=False)
    owner = tables.Column(verbose_name="Who", orderable=False)
    place = tables.Column(verbose_name="Where", orderable=False)
    held = tables.Column(verbose_name="Held", orderable=False)

    caption = "Sessions"
    empty_why = "A session says who works where and when, and holds reagents for it."

    class Meta:
        empty_text = "No session here"

    def render_title(self, value: str, record: Session) -> str:
        """Link to the session; a cancelled one says so."""
        link = format_html('<a href="{}">{}</a>', reverse("session", args=[record.pk]), value)
        return format_html("{} (cancelled)", link) if record.cancelled_at else link

    def render_when(self, record: Session) -> str:
        """Write both ends of its time."""
        return from_to(record.starts_at, record.ends_at)

    def render_held(self, record: Session) -> str:
        """Say how many amounts, and how many of them lapsed."""
        held, lapsed = getattr(record, "held", 0), getattr(record, "lapsed", 0)
        if not held:
            return "nothing"
        words = "1 amount" if held == 1 else f"{held} amounts"
        return f"{words}, {lapsed} lapsed unused" if lapsed else words
