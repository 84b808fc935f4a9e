"""All that the page of labels shows, worked out before the template."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.safestring import SafeString

from labstock.chemistry.errors import LabError
from labstock.labels.content import LabelContent
from labstock.labels.contents import content_of, shift_content
from labstock.labels.forms import LabelForm
from labstock.labels.layout import draw_label
from labstock.labels.measures import LabelSize
from labstock.labels.models import LabelPrint
from labstock.labels.papers import ONE_PER_PAGE, is_sheet, sheet_named, template_and_size
from labstock.labels.preview import label_svg
from labstock.labels.queries import Printing, last_prints, newest_first, printings_of
from labstock.stock.models import Container

MOST_DRAWN = 12
MOST_CHECKED = 200
OLD_WRITING = (
    "It carries old writing: print the tie-on tag; a sticker goes on its box or bag, never on the tube."
)
LATEST, FOUND = 12, 40  # how many are offered without a search, and with one


@dataclass(frozen=True)
class Proof:
    """One label as it will look, and what it could not say."""

    container: Container
    drawing: SafeString
    words: str
    is_tag: bool
    printed: Printing | None = None


@dataclass(frozen=True)
class LabelPage:
    """The page: what is chosen, what is offered, how it will look, what is wrong."""

    form: LabelForm
    chosen: Sequence[Container]
    offered: Sequence[Container]
    proofs: Sequence[Proof]
    faults: Sequence[tuple[Container, str]]
    sheets: int
    has_more: bool
    reprints: Sequence[tuple[Container, Printing]] = ()
    prints: Sequence[LabelPrint] = ()

    @property
    def unchecked(self) -> int:
        """Return how many labels were not looked at for what does not fit."""
        return max(len(self.chosen) - MOST_CHECKED, 0)

    @property
    def undrawn(self) -> int:
        """Return how many labels are not shown."""
        return len(self.chosen) - len(self.proofs)


def label_page(form: LabelForm, by: str) -> LabelPage:
    """Gather the page for what was typed so far; a label that cannot be made becomes the form's refusal."""
    said = form.cleaned_data if form.is_bound and form.is_valid() else {}
    size = said.get("size", ONE_PER_PAGE)
    looked_for = form["q"].value() or ""
    chosen = form.containers
    taken = {container.pk for container in chosen}
    most = FOUND if looked_for else LATEST
    rows = list(newest_first(str(looked_for)).exclude(pk__in=taken)[: most + 1])
    printed = printings_of([container.code for container in chosen])
    proofs, faults = _looked_at(form, by, size, printed)
    return LabelPage(
        form=form,
        chosen=chosen,
        offered=rows[:most],
        proofs=proofs,
        faults=faults,
        sheets=_sheets(len(chosen), size, said.get("start", 1)),
        has_more=len(rows) > most,
        reprints=[(container, printed[container.code]) for container in chosen if container.code in printed],
        prints=last_prints(),
    )


def _looked_at(
    form: LabelForm, by: str, size: str, printed: dict[str, Printing]
) -> tuple[list[Proof], list[tuple[Container, str]]]:
    said = form.cleaned_data if form.is_bound else {}
    proofs: list[Proof] = []
    faults: list[tuple[Container, str]] = []
    for container in form.containers[:MOST_CHECKED]:
        try:
            content = _content(form, container, by)
            template, label = template_and_size(size)
            is_tag = (template or content.kind) == "tag"
            words = left_out(content, template, label)
            if content.quoted and not is_tag:
                words = f"{OLD_WRITING} {words}".strip()
            is_drawn = len(proofs) < MOST_DRAWN
            drawing = label_svg(content, template, bool(said.get("is_coloured")), label) if is_drawn else ""
        except LabError as error:
            form.add_error(None, error.message)
            continue
        if words:
            faults.append((container, words))
        if drawing:
            proofs.append(Proof(container, SafeString(drawing), words, is_tag, printed.get(container.code)))
    return proofs, faults


def contents_for(form: LabelForm, by: str) -> list[LabelContent]:
    """Return what each label says, as it was chosen."""
    return [_content(form, container, by) for container in form.containers]


def _content(form: LabelForm, container: Container, by: str) -> LabelContent:
    if form.cleaned_data.get("is_for_shift"):
        return shift_content(container, by, timezone.now())
    return content_of(container, is_full=bool(form.cleaned_data.get("is_full")))


def left_out(content: LabelContent, template: str, size: LabelSize | None = None) -> str:
    """Say what does not fit on a label, or cannot be printed; nothing if all is well."""
    drawing = draw_label(content, template, size=size)
    said = []
    if drawing.cut:
        said.append(
            f"No room for all of this: {', '.join(dict.fromkeys(drawing.cut))}. Choose a larger label."
        )
    if drawing.relief:
        said.append(f"Reduced as small packages may be: {drawing.relief}.")
    if drawing.unprinted:
        said.append(as_boxes(drawing.unprinted))
    return " ".join(said)


def as_boxes(unprinted: Iterable[str]) -> str:
    """Say which characters print as empty boxes."""
    return f"These characters print as empty boxes: {' '.join(unprinted)}. Write them on by hand."


def _sheets(labels: int, size: str, start: int) -> int:
    """Return how many sheets of paper it takes; none for a label printer."""
    return sheet_named(size).pages(labels, start) if is_sheet(size) and labels else 0
