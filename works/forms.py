"""Forms of the ground floor."""

from typing import Any

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
    region = forms.CharField(max_length=10, required=False, help_text="for regional holidays")
    time_zone = forms.CharField(max_length=64, help_text="such as Europe/Lisbon")
    tolerance_cross = forms.ChoiceField(
        choices=CrossRule.choices,
        label="Tolerance cross met by",
        help_text="ISO 9906: whether touching one bar of the cross passes, or both must be met",
    )


class PersonForm(forms.Form):
    groups = forms.MultipleChoiceField(
        choices=Group.choices, widget=forms.CheckboxSelectMultiple, label="May work as"
    )
    areas = forms.MultipleChoiceField(
        choices=Area.choices,
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
    is_active = forms.BooleanField(required=False, label="May sign in")


class StandardCheckForm(forms.Form):
    on = forms.DateField(
        label="Checked against our copy on", widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
