"""What a device sends from its queue, and what is typed to settle a difference."""

import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from labstock.bench.actions import WEIGH
from labstock.bench.forms import as_local
from labstock.bench.forms_pouring import ContainerField
from labstock.bench.offline import ACTS, Again, Sent, Told
from labstock.chemistry.devices import DEVICES
from labstock.chemistry.errors import LabError
from labstock.stock.models import QueuedEntry, Way

MOST_IN_ONE_SENDING = 100
LONGEST = {"amount": 80, "unit": 10, "device": 40, "reason": 300, "act": 20, "code": 300}


def read_sending(body: Any) -> tuple[datetime, list[Any]]:
    """Return the device's clock and the raw entries of one sending."""
    if not isinstance(body, Mapping) or not isinstance(body.get("entries"), list):
        raise _unreadable("it is no list of entries")
    entries = body["entries"]
    if len(entries) > MOST_IN_ONE_SENDING:
        raise _unreadable(f"it holds {len(entries)} entries, at most {MOST_IN_ONE_SENDING} go at once")
    return _moment(body, "device_at"), sorted(entries, key=_order_of_doing)


def _order_of_doing(raw: Any) -> tuple[float, str]:
    """Put entries in the order in which the device took them down; its clock may have been changed in between."""
    number, done_at = (raw.get("number"), raw.get("done_at")) if isinstance(raw, Mapping) else (None, None)
    return float(number) if isinstance(number, int | float) else 0.0, str(done_at)


def read_sent(raw: Any) -> Sent:
    """Return one entry as a device sends it; whatever a person may have typed wrongly is left for the book to refuse."""
    if not isinstance(raw, Mapping) or not isinstance(raw.get("told"), Mapping):
        raise _unreadable("an entry in it is no entry")
    told = raw["told"]
    return Sent(
        key=_key(raw),
        code=_text(raw, "code"),
        told=Told(
            act=_text(told, "act"),
            amount=_text(told, "amount"),
            unit=_text(told, "unit"),
            device=_text(told, "device"),
            reason=_text(told, "reason"),
            batch=_number(told, "batch"),
        ),
        done_by_device_at=_moment(raw, "done_at"),
        owner=_number(raw, "person"),
        known_error_ms=_number(raw, "known_error_ms"),
        raw=dict(raw),
    )


def _key(raw: Mapping[str, Any]) -> uuid.UUID:
    try:
        return uuid.UUID(str(raw.get("key")))
    except ValueError:
        raise _unreadable(f"“{str(raw.get('key'))[:40]}” is no key") from None


def _text(raw: Mapping[str, Any], name: str) -> str:
    value = raw.get(name, "")
    if not isinstance(value, str) or len(value) > LONGEST[name] or "\x00" in value:
        raise _unreadable(f"its {name} is no text of at most {LONGEST[name]} characters")
    return value.strip()


def _number(raw: Mapping[str, Any], name: str) -> int | None:
    value = raw.get(name)
    if value is None or value == "":
        return None
    is_whole = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 2**53
    if not is_whole:
        raise _unreadable(f"its {name} is no whole number")
    return round(value)


def _moment(raw: Mapping[str, Any], name: str) -> datetime:
    try:
        moment = datetime.fromisoformat(str(raw.get(name)))
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None or not 1990 <= moment.year <= 2200:
        raise _unreadable(f"its {name} is no moment with a zone")
    return moment.astimezone(UTC)


def _unreadable(why: str) -> LabError:
    return LabError(
        "queue-unreadable",
        "What the device sent cannot be read: {why}. It stays on the device; open the page anew and send it again.",
        why=why,
    )


class SettleForm(forms.Form):
    """One of three ways out, with the reason; the first one with what is to be recorded."""

    error_css_class = "is-wrong"
    way = forms.ChoiceField(
        choices=[
            (Way.RECORDED, "Record it"),
            (Way.IN_BOOK, "It is in the book already"),
            (Way.NOT_DONE, "It was not done"),
        ],
        widget=forms.RadioSelect,
        label="What is right?",
        error_messages={"required": "Choose one of the three: nothing is settled by itself."},
    )
    container = ContainerField(label="From which container?", required=False)
    amount = forms.CharField(required=False, max_length=80, label="How much?")
    device = forms.ChoiceField(
        required=False,
        choices=[("", "judged by eye"), *((row.code, row.name) for row in DEVICES.values())],
        label="With what?",
    )
    at = forms.DateTimeField(
        required=False,
        label="Done at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    reason = forms.CharField(max_length=300, label="Why? It stays beside what was sent")

    def __init__(self, *args: Any, queued: QueuedEntry, **options: Any) -> None:
        super().__init__(*args, **options)
        self.queued = queued
        told = queued.sent.get("told", {})
        self.act = str(told.get("act", ""))
        self.fields["amount"].label = "What did it weigh, cap on?" if self.act == WEIGH else "How much?"
        self.initial.setdefault("container", queued.code)
        self.initial.setdefault("amount", " ".join(filter(None, [told.get("amount"), told.get("unit")])))
        self.initial.setdefault("device", told.get("device"))
        self.initial.setdefault("at", as_local(queued.done_at))

    def clean(self) -> dict[str, Any]:
        """Ask for container and amount only where a line is to be written."""
        said = super().clean() or {}
        if said.get("way") == Way.RECORDED:
            for name, word in (
                ("container", "the code on the container"),
                ("amount", "the amount, such as 5 mL"),
            ):
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, ValidationError(f"To record it, give {word}."))
        return said

    def again(self) -> Again | None:
        """Return what is to be recorded, where that was chosen."""
        said = self.cleaned_data
        if said["way"] != Way.RECORDED:
            return None
        told = self.queued.sent.get("told", {})
        return Again(
            said["container"],
            Told(act=self.act, amount=said["amount"], device=said["device"], batch=told.get("batch")),
            self._time(said["at"]),
        )

    def _time(self, typed: datetime | None) -> datetime:
        """Return the time of doing; a minute that was left as it stood keeps its seconds."""
        kept = self.queued.done_at
        return kept if typed is None or as_local(typed) == as_local(kept) else timezone.localtime(typed)

    @property
    def act_words(self) -> str:
        """Return what was done, in words."""
        return ACTS.get(self.act, self.act)
