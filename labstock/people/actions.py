"""People come, change and leave. Nobody is ever deleted: their entries stay in the ledger."""

import secrets

from django.contrib.admin.models import ADDITION, CHANGE, LogEntry
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from labstock.chemistry.errors import LabError
from labstock.people.models import LabGroup, User
from labstock.people.roles import Role
from labstock.writing import writing

# No letter or digit that is read as another: a password is copied from a screen by hand.
UNMISTAKABLE = "abcdefghjkmnpqrstuvwxyz23456789"


def new_password() -> str:
    """Return a password to start with: three groups of four characters, about 59 bits."""
    return "-".join("".join(secrets.choice(UNMISTAKABLE) for _ in range(4)) for _ in range(3))


def add_person(
    *,
    by: User | None,
    username: str,
    first_name: str,
    last_name: str,
    role: Role,
    group: LabGroup | None = None,
    new_group: str = "",
    password: str = "",
) -> tuple[User, str]:
    """Add a person; return them and the password to log in with the first time."""
    with writing():
        taken = User.objects.filter(username__iexact=username).first()
        if taken is not None:
            raise LabError(
                "username-taken",
                "The log-in name {username} belongs to {name} already: choose another, such as {other}.",
                username=username,
                name=taken,
                other=_another(username),
            )
        user = User(username=username, first_name=first_name, last_name=last_name, role=role)
        user.group = _group_called(new_group) if new_group else group
        password = password or new_password()
        _check_password(password, user)
        user.set_password(password)
        user.save()
        note_history(by, user, ADDITION, f"added as {Role(role).label.lower()}, {user.group or 'no group'}")
        return user, password


def change_person(
    *,
    by: User,
    person: User,
    first_name: str,
    last_name: str,
    role: Role,
    group: LabGroup | None,
    is_active: bool,
    new_group: str = "",
) -> User:
    """Change a name, a role, a group, or whether somebody may log in; what was is written down."""
    wanted: dict[str, object] = {
        "first_name": first_name,
        "last_name": last_name,
        "role": role,
        "is_active": is_active,
    }
    with writing():
        wanted["group"] = _group_called(new_group) if new_group else group
        locked = User.objects.select_for_update(of=("self",)).select_related("group").get(pk=person.pk)
        if role != Role.STEWARD or not is_active:
            _check_steward_remains(locked)
        said = [
            _said(locked, name, value) for name, value in wanted.items() if getattr(locked, name) != value
        ]
        for name, value in wanted.items():
            setattr(locked, name, value)
        locked.save(update_fields=list(wanted))
        if said:
            note_history(by, locked, CHANGE, "; ".join(said))
        return locked


def give_password(*, by: User, person: User) -> str:
    """Give somebody a new password to start with; wherever they are logged in, they are out."""
    if (person.is_staff or person.is_superuser) and not by.is_superuser:
        raise LabError(
            "administrator",
            "{name} administers the site, so a steward may not set their password: "
            "they do it themselves with `manage.py changepassword {username}`.",
            name=person,
            username=person.username,
        )
    password = new_password()
    with writing():
        person.set_password(password)
        person.save(update_fields=["password"])
        note_history(by, person, CHANGE, "new password given")
    return password


def _group_called(name: str) -> LabGroup:
    """Return the group of this name, however it is capitalised; make it if there is none."""
    return LabGroup.objects.filter(name__iexact=name).first() or LabGroup.objects.create(name=name)


def _check_password(password: str, user: User) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise LabError(
            "weak-password",
            "This password is too easy. {why} Choose another, or leave it empty and take the one made here.",
            why=" ".join(error.messages),
        ) from error


def _check_steward_remains(person: User) -> None:
    stewards = User.objects.filter(role=Role.STEWARD, is_active=True)
    if (
        person.role == Role.STEWARD
        and person.is_active
        and not stewards.exclude(pk=person.pk).select_for_update().exists()
    ):
        raise LabError(
            "last-steward",
            "{name} is the only steward who can log in; without one nobody could add people or receive "
            "containers. Make somebody else a steward first.",
            name=person,
        )


def _another(username: str) -> str:
    return next(
        name
        for number in range(2, 1_000_000)
        if not User.objects.filter(username__iexact=(name := f"{username}{number}")).exists()
    )


def _said(person: User, name: str, value: object) -> str:
    word = User._meta.get_field(name).verbose_name  # type: ignore[union-attr]
    before = getattr(person, name)
    if name == "is_active":
        return "may log in again" if value else "may no longer log in"
    if name == "role":
        before, value = Role(before).label.lower(), Role(str(value)).label.lower()
    return f"{word}: {before or 'none'} → {value or 'none'}"


def note_history(by: User | None, person: User, flag: int, words: str) -> None:
    """Write a line of the history of a person; the command line has nobody to name."""
    author = by or person
    LogEntry.objects.log_actions(
        author.pk,
        User.objects.filter(pk=person.pk),
        flag,
        words if by else f"{words}; by command",
        single_object=True,
    )
