"""The list of samples that were found."""

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from batches.retained.ages import age_range
from batches.retained.edtf import read_edtf
from batches.retained.models import RetainedSample
from labstock.chemistry.errors import LabError
from labstock.look.drawing.vessel import vessel as draw_vessel
from labstock.look.pictures import content_of
from labstock.look.words import code
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION

AGE_NOT_KNOWN = "age not known"


def age_words(sample: RetainedSample) -> str:
    """Return the age as a range, or that nobody knows it."""
    if not sample.date_edtf:
        return AGE_NOT_KNOWN
    try:
        return age_range(read_edtf(sample.date_edtf), timezone.localdate()).words
    except LabError:
        return AGE_NOT_KNOWN


def date_words(sample: RetainedSample) -> str:
    """Return the date as understood, in words."""
    if not sample.date_edtf:
        return "not understood" if sample.date_as_written else "not known"
    try:
        return read_edtf(sample.date_edtf).words
    except LabError:
        return sample.date_edtf


def drawn(container: Container, size: str = "s") -> SafeString:
    """Draw a sample's vessel."""
    content = content_of(
        container.capacity / MILLION, container.amount, container.doubt.u, unit=container.unit
    )
    state = {"not seen": "away", "disposed": "gone"}.get(container.state, "")
    return SafeString(draw_vessel(container.vessel, content, size, not container.is_opened, state))


class SampleTable(tables.Table):
    """Samples, one line each."""

    name = tables.Column(verbose_name="Sample")
    age = tables.Column(empty_values=(), order_by=("sorted_on", "id"), attrs={"td": {"class": "lead num"}})
    date_as_written = tables.Column(verbose_name="Date as written", empty_values=(), orderable=False)
    understood = tables.Column(verbose_name="As understood", empty_values=(), orderable=False)
    place = tables.Column(empty_values=(), order_by=("container__location__path", "id"))
    code = tables.Column(empty_values=(), order_by="container__number")

    caption = "Retained samples"
    row_header = "name"
    empty_why = (
        "Try fewer words, part of a word, or no years: a sample without a date is in no range of years."
    )

    class Meta:
        template_name = "look/table.html"
        empty_text = "No sample is like that"
        order_by = ()

    def render_name(self, value: str, record: RetainedSample) -> SafeString:
        """Draw the tube and link to the sample."""
        url = reverse("sample", args=[record.container.code])
        maker = format_html('<span class="by">{}</span>', record.maker) if record.maker else ""
        return format_html('{} <a href="{}">{}</a>{}', drawn(record.container), url, value, maker)

    def render_age(self, record: RetainedSample) -> str:
        """Say the age as a range."""
        return age_words(record)

    def render_date_as_written(self, record: RetainedSample) -> SafeString:
        """Say the date as it stands on the label."""
        if not record.date_as_written:
            return SafeString('<span class="quiet">nothing written</span>')
        return format_html('<span class="written">{}</span>', record.date_as_written)

    def render_understood(self, record: RetainedSample) -> str:
        """Say the date in words."""
        return date_words(record)

    def render_place(self, record: RetainedSample) -> str:
        """Say where it stands."""
        return record.container.location.path if record.container.location else "place not known"

    def render_code(self, record: RetainedSample) -> SafeString:
        """Set the short code."""
        return code(record.container.code)
