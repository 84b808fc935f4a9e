"""What a steward types about people."""

from typing import Any

from django import forms

from labstock.people.models import LabGroup, User
from labstock.people.roles import Role

NO_GROUP = "no group"


class PersonForm(forms.Form):
    """Name, role and group."""

    first_name = forms.CharField(max_length=150)
    last_name = forms.CharField(max_length=150, required=False)
    role = forms.ChoiceField(choices=Role.choices, widget=forms.RadioSelect, initial=Role.MEMBER)
    group = forms.ModelChoiceField(LabGroup.objects.none(), required=False, empty_label=NO_GROUP)
    new_group = forms.CharField(
        max_length=80, required=False, label="Or a new group", help_text="Only if it is not in the list."
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        group = self.fields["group"]
        assert isinstance(group, forms.ModelChoiceField)
        group.queryset = LabGroup.objects.all()

    def clean(self) -> dict[str, Any]:
        """Refuse two groups at once: a container belongs to one."""
        said = super().clean() or {}
        if said.get("group") and said.get("new_group"):
            self.add_error(
                "new_group",
                f"{said['group']} is chosen and {said['new_group']} is typed: a person is in one group. "
                "Empty this field, or choose “no group” in the list.",
            )
        return said


class AddPersonForm(PersonForm):
    """A new person; the log-in name stays for good."""

    field_order = ["first_name", "last_name", "username", "role", "group", "new_group", "password"]
    username = forms.CharField(
        max_length=150,
        label="Log-in name",
        help_text="Letters, digits and @ . + - _ only. It cannot be changed later.",
        validators=[User.username_validator],
        widget=forms.TextInput(
            attrs={"autocapitalize": "none", "autocomplete": "off", "spellcheck": "false"}
        ),
    )
    password = forms.CharField(
        required=False,
        label="First password",
        strip=False,
        help_text="Left empty, one is made and shown once.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class ChangePersonForm(PersonForm):
    """A person who is here, or was."""

    is_active = forms.BooleanField(
        required=False,
        label="May log in",
        help_text="Take the tick away when somebody leaves. What they recorded keeps their name.",
    )
