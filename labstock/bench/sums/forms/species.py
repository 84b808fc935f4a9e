"""What is asked for a formula and for an equation."""

from django import forms

from labstock.bench.sums.fields import KindField


class FormulaForm(forms.Form):
    """One formula."""

    kind = KindField(
        "Formula",
        help_text="CuSO4·5H2O, [Cu(NH3)4]SO4, Fe3+, SO4^2-, C6D6, [13C]H4; or a name on the substance list.",
    )


class EquationForm(forms.Form):
    """One equation."""

    equation = forms.CharField(
        label="Equation",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2, "spellcheck": "false", "autocomplete": "off"}),
        help_text="C6H7N + C4H6O3 -> C8H9NO + C2H4O2. Coefficients that you give are checked; those left out are worked out where conservation decides them.",
    )
