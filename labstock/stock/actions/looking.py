"""Writing down what somebody saw on a container, and what follows from it at once."""

from collections.abc import Mapping

from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing, check_not_closed, check_time, lock, note_change
from labstock.stock.models import Container, Sign, State, Trouble
from labstock.stock.models.container import MOVES
from labstock.stock.signs import SignRule, rule_for
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
