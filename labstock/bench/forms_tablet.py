"""What is typed about a shared tablet and one's own PIN."""

from django import forms


class TabletForm(forms.Form):
    """What a shared browser is called."""

    name = forms.CharField(
        max_length=60, label="What is this tablet called?", help_text="Such as: tablet at hood 4."
    )


class PinForm(forms.Form):
    """One's own PIN, with the password that shows it is oneself."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        max_length=300,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    pin = forms.CharField(
        label="The PIN you want",
        max_length=60,
        help_text="4 to 12 digits, not all the same and not counting up or down.",
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
    )
