"""Fields that several forms share: days, figures with comma or point, instruments."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from quality.models import (
    InspectionPlan,
    InspectionPoint,
    Instrument,
    Nonconformance,
    Part,
)
from schedule.models import Operation, Piece
from works.units import QuantityRefused, parse_number

NO_CHOICE = ("", "choose …")


class DayField(forms.DateField):
    """A day, with the browser's own picker; ISO when typed."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        options.setdefault(
            "error_messages", {"invalid": "Give a day as year-month-day, such as 2026-03-04."}
        )
        super().__init__(**options)


class PastDayField(DayField):
    """The day on which something was done; today at the latest."""

    def clean(self, value: Any) -> date | None:
        day: date | None = super().clean(value)
        today = timezone.localdate()
        if day is not None and day > today:
            raise ValidationError(f"{day} has not come yet: give today, {today}, or a day before.")
        return day


class NumberField(forms.CharField):
    """A plain figure, typed with a decimal comma or point; ambiguous ones are refused."""

    def __init__(
        self, *, minimum: float | None = None, above: float | None = None, **options: Any
    ) -> None:
        self.minimum, self.above = minimum, above
        options.setdefault(
            "widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        )
        super().__init__(**options)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            number = float(parse_number(text))
        except QuantityRefused as refusal:
            raise ValidationError(str(refusal), code="refused") from refusal
        if self.above is not None and not number > self.above:
            raise ValidationError(f"It must be more than {self.above:g}.", code="bounds")
        if self.minimum is not None and number < self.minimum:
            raise ValidationError(f"It must be {self.minimum:g} or more.", code="bounds")
        return number


class InstrumentField(forms.ModelChoiceField):
    """One instrument of the register, named with its range and the day it is due."""

    def __init__(self, *, kind: str = "", **options: Any) -> None:
        self.kind = kind
        options.setdefault("empty_label", "choose …")
        super().__init__(queryset=instruments_of(kind), **options)

    def label_from_instance(self, obj: Any) -> str:
        return label_of(obj)


class InstrumentsField(forms.ModelMultipleChoiceField):
    """Several instruments of the register."""

    def __init__(self, *, kind: str = "", **options: Any) -> None:
        options.setdefault("widget", forms.CheckboxSelectMultiple)
        super().__init__(queryset=instruments_of(kind), **options)

    def label_from_instance(self, obj: Any) -> str:
        return label_of(obj)


class PieceField(forms.ModelChoiceField):
    """A piece of the unit that an operation works on, or of any unit of its route."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("empty_label", "no piece of its own")
        super().__init__(queryset=Piece.objects.none(), required=False, **options)

    def offer(self, operation: Operation) -> None:
        """Offer the pieces taken for the operation's unit."""
        found = Piece.objects.filter(state=Piece.State.TAKEN)
        if operation.unit_id is not None:
            self.queryset = found.filter(unit_id=operation.unit_id)
        else:
            self.queryset = found.filter(unit__route_id=operation.route_id)

    def label_from_instance(self, obj: Any) -> str:
        heat = f", heat {obj.heat}" if obj.heat else ""
        return f"{obj.mark}: {obj.part}{heat}"


class PointsField(forms.ModelMultipleChoiceField):
    """Points of a plan that somebody from outside attends."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.CheckboxSelectMultiple)
        super().__init__(queryset=InspectionPoint.objects.none(), **options)

    def offer(self, plan: InspectionPlan) -> None:
        """Offer the plan's points in which customer or third party holds or witnesses."""
        comes = [Part.HOLD, Part.WITNESS]
        self.queryset = (
            plan.points.filter(withdrawn_at=None, operation__dropped_in=None)
            .filter(Q(customer__in=comes) | Q(third_party__in=comes))
            .select_related("operation__unit__route", "operation__route")
            .order_by("operation__unit__number", "operation__position")
        )

    def label_from_instance(self, obj: Any) -> str:
        unit = f"{obj.operation.unit}: " if obj.operation.unit else ""
        return f"{unit}{obj.characteristic} ({obj.timing} {obj.operation.name})"


class ReplacementField(forms.ModelChoiceField):
    """A piece that could take a scrapped one's place: from the shelf, or another unit's."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("empty_label", "cast again")
        super().__init__(queryset=Piece.objects.none(), required=False, **options)

    def offer(self, found: Nonconformance) -> None:
        """Offer unscrapped pieces of the same part and pattern, the shelf's first."""
        piece = found.piece
        if piece is None:
            return
        self.queryset = (
            Piece.objects.filter(part=piece.part, pattern_id=piece.pattern_id)
            .exclude(state=Piece.State.SCRAPPED)
            .exclude(pk=piece.pk)
            .select_related("unit__route")
            .order_by("state", "mark")
        )

    def label_from_instance(self, obj: Any) -> str:
        where = f"of {obj.unit}" if obj.unit else "on the shelf"
        return f"{obj.mark}, heat {obj.heat or 'unknown'}, {where}"


class AgainField(forms.ModelMultipleChoiceField):
    """Work of the unit that was begun and could be done again."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.CheckboxSelectMultiple)
        super().__init__(queryset=Operation.objects.none(), required=False, **options)

    def offer(self, found: Nonconformance) -> None:
        """Offer the begun operations of the unit from the defective one back."""
        self.queryset = (
            Operation.objects.live()
            .filter(route_id=found.route_id, unit=found.unit, started_at__isnull=False)
            .order_by("-position")
        )

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.name)


def name_cells(form: forms.Form, names: Sequence[str]) -> None:
    """Give fields that stand in a table's cells their label as an accessible name."""
    for name in names:
        field = form.fields[name]
        field.widget.attrs["aria-label"] = str(field.label)


def instruments_of(kind: str) -> Any:
    found = Instrument.objects.filter(withdrawn=False)
    return found.filter(kind=kind) if kind else found


def label_of(instrument: Instrument) -> str:
    """Tag, what it measures, range and the day its calibration runs out."""
    low, high = instrument.range_low, instrument.range_high
    span = "" if low is None or high is None else f" {low:g} to {high:g} {instrument.unit},"
    due = instrument.due_on
    overdue = " OVERDUE since" if due < timezone.localdate() else " in date until"
    return f"{instrument.tag}, {instrument.kind},{span}{overdue} {due}"
