"""What a customer's pages take."""

from django import forms


class CustomerForm(forms.Form):
    name = forms.CharField(max_length=120)
    country = forms.RegexField(
        r"^[A-Za-z]{2}$",
        max_length=2,
        help_text="ISO 3166-1 code, such as NA",
        error_messages={"invalid": "Give two letters, such as NA."},
    )
    note = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}),
        required=False,
        help_text="internal; never leaves the works",
    )


class ContactForm(forms.Form):
    name = forms.CharField(max_length=120)
    email = forms.EmailField(required=False)
    is_inspector = forms.BooleanField(required=False, label="Inspects at the works")
