"""Writing down what somebody saw on a container, and what follows from it at once."""

from collections.abc import Mapping
from dataclasses import replace

from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing, check_not_closed, check_time, lock, note_change
from labstock.stock.actions.reversing import UNDO_SECONDS
from labstock.stock.models import Container, Sign, State, Trouble
from labstock.stock.models.container import MOVES
from labstock.stock.signs import TAKEN_BACK, SignRule, rule_for
from labstock.writing import writing


def record_look(*, container: Container, answers: Mapping[str, bool], doing: Doing) -> list[Sign]:
    """Keep each thing that was looked for, seen or not; what nobody looked for is not in the answers.

    A sign whose rule says so blocks the container at once.
    """
    if not answers:
        raise LabError(
            "not-looked", "Nothing was looked at: say “no” or “seen” for at least one sign, or go back."
        )
    if unknown := sorted(set(answers) - set(Trouble.values)):
        raise LabError("no-such-sign", "{what} is no sign that is looked for.", what=", ".join(unknown))
    with writing():
        locked = lock(container)
        if done := _done_before(locked, doing):
            return done
        check_time(locked, doing)
        check_not_closed(locked)
        made = [_keep(locked, what, answers[what], doing) for what in Trouble.values if what in answers]
        seen = [rule_for(sign.what, locked.substance) for sign in made if sign.is_seen]
        _block(locked, [rule for rule in seen if rule.blocks], doing)
        return made


def undo_look(*, container: Container, doing: Doing) -> list[Sign]:
    """Take back one's own last look within a minute: each question has the answer again that it had before.

    The signs stay on record. A block that followed from them goes too.
    """
    with writing():
        locked = lock(container)
        if done := _done_before(locked, doing):
            return done
        looked = last_look(locked)
        age = (doing.at - looked[0].at).total_seconds() if looked else 0.0
        if not looked or looked[0].by_id != doing.by.pk or age > UNDO_SECONDS:
            raise LabError(
                "too-late-to-undo",
                "Undo is for the person who looked, within {limit} s, and only for the last look. Look again and "
                "record what is to be seen: both stay on record.",
                limit=UNDO_SECONDS,
            )
        back = [_as_before(locked, sign, doing) for sign in looked]
        blocked = locked.state_changes.order_by("-id").first()
        if blocked is not None and blocked.after == State.BLOCKED and blocked.at == looked[0].at:
            note_change(
                locked,
                replace(doing, reason="the look was taken back"),
                "state",
                State.BLOCKED,
                State(blocked.before),
            )
            locked.state, locked.state_because = blocked.before, ""
            locked.save(update_fields=["state", "state_because"])
        return back


def last_look(container: Container) -> list[Sign]:
    """Return what the newest look said; empty where it was taken back already or nobody has looked."""
    newest = container.signs.order_by("-id").first()
    if newest is None or newest.words.startswith(TAKEN_BACK):
        return []
    return list(container.signs.filter(key=newest.key).order_by("id"))


def _as_before(locked: Container, sign: Sign, doing: Doing) -> Sign:
    """Answer a question as it was answered before; where nobody had looked, nothing is seen."""
    before = locked.signs.filter(what=sign.what, pk__lt=sign.pk).order_by("-id").first()
    stood = before if before is not None and before.is_seen else None
    return Sign.objects.create(
        container=locked,
        what=sign.what,
        is_seen=stood is not None,
        doubts_strength=stood is not None and stood.doubts_strength,
        rule=stood.rule if stood else "",
        words=f"{TAKEN_BACK}{sign.pk}",
        key=doing.key,
        by=doing.by,
        at=doing.at,
    )


def _done_before(locked: Container, doing: Doing) -> list[Sign]:
    done = list(Sign.objects.filter(key=doing.key))
    if any(sign.container_id != locked.pk or sign.by_id != doing.by.pk for sign in done):
        raise LabError(
            "key-used",
            "This form was already sent for another container. Open the container again and enter it anew.",
        )
    return done


def _keep(locked: Container, what: str, is_seen: bool, doing: Doing) -> Sign:
    rule = rule_for(what, locked.substance)
    return Sign.objects.create(
        container=locked,
        what=what,
        is_seen=is_seen,
        doubts_strength=is_seen and rule.doubts_strength,
        rule=rule.name if is_seen else "",
        words=doing.reason if is_seen else "",
        key=doing.key,
        by=doing.by,
        at=doing.at,
    )


def _block(locked: Container, rules: list[SignRule], doing: Doing) -> None:
    """Take it out of use where a rule says so; a container that is blocked already stays so."""
    if not rules or State.BLOCKED not in MOVES[locked.state]:
        return
    because = "; ".join(f"{Trouble(rule.what).label} seen" for rule in rules)
    note_change(locked, doing, "state", locked.state, State.BLOCKED)
    locked.state, locked.state_because = State.BLOCKED, because
    locked.save(update_fields=["state", "state_because"])
