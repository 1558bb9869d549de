"""Small forms round a study."""

from typing import Any

from django import forms

from selection.models import Study

OFFERED = 100  # the latest studies; a longer list is no help


class NewStudyForm(forms.Form):
    title = forms.CharField(max_length=120, help_text="what the pump is for")


class CopyForm(forms.Form):
    """Whose duty is copied into this study; left empty, this one is copied into a new study."""

    source = forms.ModelChoiceField(
        Study.objects.none(),
        required=False,
        label="Copy the duty of",
        empty_label="nobody: copy this one into a new study",
    )

    def __init__(self, *args: Any, study: Study, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["source"]
        assert isinstance(field, forms.ModelChoiceField)
        others = Study.objects.exclude(pk=study.pk).exclude(inputs={})
        field.queryset = Study.objects.filter(pk__in=others.values("pk")[:OFFERED]).defer("inputs")
