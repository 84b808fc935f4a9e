"""Looking at a sample: what is seen is written down, and when to look again."""

from dataclasses import dataclass, replace
from datetime import date
from uuid import uuid4

from django.utils import timezone

from batches.retained.models import ConditionCheck, RetainedSample
from labstock.chemistry.errors import LabError
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.lines import Doing, check_not_closed, check_time, lock
from labstock.stock.models import State
from labstock.writing import writing


@dataclass(frozen=True)
class Seen:
    """What is seen from outside; what was not looked at stays empty."""

    scale: int
    colour: str = ""
    form: str = ""
    closure: str = ""
    label: str = ""
    changed: str = ""
    remarks: str = ""


def check_condition(
    *, sample: RetainedSample, seen: Seen, doing: Doing, next_on: date | None = None
) -> ConditionCheck:
    """Keep what somebody saw, and set the day of the next look. A sample that was not seen is found again by it."""
    with writing():
        locked = lock(sample.container)
        done = ConditionCheck.objects.filter(key=doing.key).first()
        if done is not None:
            return _same(done, sample, doing)
        check_time(locked, doing)
        check_not_closed(locked)
        _check_seen(seen, next_on, timezone.localdate(doing.at))
        row = ConditionCheck.objects.create(
            sample=sample, next_on=next_on, key=doing.key, by=doing.by, at=doing.at, **_trimmed(seen)
        )
        if not sample.checks.filter(at__gt=doing.at).exists():
            RetainedSample.objects.filter(pk=sample.pk).update(review_on=next_on)
        if locked.state == State.NOT_SEEN:
            found = replace(doing, key=uuid4(), reason="seen when somebody looked at it")
            change_state(container=locked, to=State.IN_USE, doing=found)
        return row


def _same(done: ConditionCheck, sample: RetainedSample, doing: Doing) -> ConditionCheck:
    if done.sample_id != sample.pk or done.by_id != doing.by.pk:
        raise LabError(
            "key-used",
            "This form was already sent for another sample. Open the sample again and enter it anew.",
        )
    return done


def _check_seen(seen: Seen, next_on: date | None, looked_on: date) -> None:
    if seen.scale not in ConditionCheck.Scale.values:
        raise LabError(
            "no-such-step",
            "{scale} is no step of the scale: choose 5 (as it was) to 1 (lost).",
            scale=seen.scale,
        )
    if seen.scale < ConditionCheck.Scale.AS_IT_WAS and not (seen.changed.strip() or seen.remarks.strip()):
        raise LabError(
            "changed-how", "It is no longer as it was: say in a few words what changed, or what you see."
        )
    if next_on is not None and next_on <= looked_on:
        raise LabError(
            "next-look-passed",
            "The next look on {next:%d %b %Y} would not come after this one on {looked:%d %b %Y}: give a later day, or "
            "leave it empty.",
            next=next_on,
            looked=looked_on,
        )


def _trimmed(seen: Seen) -> dict[str, object]:
    return {name: value.strip() if isinstance(value, str) else value for name, value in vars(seen).items()}
