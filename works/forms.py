"""Forms of the ground floor."""

from django import forms

from works.models import CrossRule
from works.people import Area, Group


class SiteForm(forms.Form):
    name = forms.CharField(max_length=120, label="Name of the works")
    place = forms.CharField(max_length=120, required=False)
    country = forms.RegexField(
        r"^[A-Z]{2}$",
        max_length=2,
        help_text="ISO 3166-1 code, such as PT; public holidays follow it",
        error_messages={"invalid": "Give two capital letters, such as PT."},
    )
    region = forms.CharField(
        max_length=10, required=False, help_text="where holidays differ within the country"
    )
    time_zone = forms.CharField(
        max_length=64,
        help_text="such as Europe/Lisbon",
        widget=forms.TextInput(attrs={"list": "time-zones", "autocomplete": "off"}),
    )
    tolerance_cross = forms.ChoiceField(
        choices=CrossRule.choices,
        label="Tolerance cross met by",
        help_text="ISO 9906: whether touching one bar of the cross passes, or both must be met",
    )


class PersonForm(forms.Form):
    groups = forms.MultipleChoiceField(
        choices=[(group.value, group.value) for group in Group],
        widget=forms.CheckboxSelectMultiple,
        label="May work as",
    )
    areas = forms.MultipleChoiceField(
        choices=[(area.value, area.value) for area in Area],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="areas a supervisor answers for; none means all",
    )


class NewPersonForm(PersonForm):
    username = forms.SlugField(max_length=60, label="Sign-in name")
    first_name = forms.CharField(max_length=60)
    last_name = forms.CharField(max_length=60)
    email = forms.EmailField(required=False)
    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="at least eight characters, not a common word",
    )

    field_order = ("username", "first_name", "last_name", "email", "password", "groups", "areas")


class ChangePersonForm(PersonForm):
    first_name = forms.CharField(max_length=60)
    last_name = forms.CharField(max_length=60)
    email = forms.EmailField(required=False)
    is_active = forms.BooleanField(required=False, label="May sign in")

    field_order = ("first_name", "last_name", "email", "groups", "areas", "is_active")


class PasswordForm(forms.Form):
    """A new password for somebody who forgot theirs."""

    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        label="New password",
        help_text="at least eight characters, not a common word; tell it to nobody else",
    )


class StandardCheckForm(forms.Form):
    """The day a row was compared with the works' own copy; left empty, the mark is taken away."""

    on = forms.DateField(required=False, widget=forms.DateInput(attrs={"type": "date"}))
