"""A page made of every piece, for tests in a browser; the program itself has no such page."""

from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from django import forms
from django.core.paginator import Paginator
from django.template import Context, Template
from django.test import RequestFactory
from django.utils import timezone

from works.cautions import CAUTIONS
from works.drawing import (
    Axis,
    Curve,
    Flag,
    Panel,
    RouteBar,
    Spot,
    Stretch,
    StretchState,
    TimeRuler,
    XYChart,
    draw,
    svg,
)
from works.models import Person
from works.quantity_field import QuantityField
from works.states import STATES
from works.units import Kind

ZONE = ZoneInfo("Europe/Lisbon")
FIRST = datetime(2026, 3, 2, tzinfo=ZONE)
LAST, NOW = FIRST + timedelta(days=56), FIRST + timedelta(days=14, hours=9)

PAGE = Path(__file__).with_name("looks_sample.html").read_text()
WALL = Path(__file__).with_name("looks_wall.html").read_text()


class Enquiry(forms.Form):
    customer = forms.CharField(label="Customer", help_text="As on the order.")
    flow = QuantityField(kind=Kind.FLOW, label="Flow")
    sealing = forms.ChoiceField(
        label="Sealing", choices=[("p", "packing"), ("m", "seal")], widget=forms.RadioSelect
    )
    fire = forms.BooleanField(label="Fire duty", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)


def bar(number: int) -> str:
    stretches = tuple(
        Stretch(
            state.value, FIRST + timedelta(days=7 * at), FIRST + timedelta(days=7 * at + 7), state
        )
        for at, state in enumerate(StretchState)
    )
    marks = ((Flag.SHIP_BY, FIRST + timedelta(days=40)), (Flag.FINISH, FIRST + timedelta(days=42)))
    return svg(draw(RouteBar(f"Order {number}", "2 d late.", FIRST, LAST, NOW, stretches, marks)))


def chart() -> str:
    flows = (0.0, 100.0, 200.0, 300.0)
    head = Panel(
        Axis("Head", "m", from_zero=False),
        curves=(Curve("Ø 412 mm", flows, (62.0, 60.0, 54.0, 44.0)),),
        spots=(Spot("Duty", 200.0, 54.0, series=1),),
    )
    return svg(draw(XYChart("Curves.", "Duty 200 m³/h.", Axis("Flow", "m³/h"), (head,))))


def sample(text: str = PAGE, *, body_class: str = "") -> str:
    """The page as HTML."""
    request = RequestFactory().get("/sample/")
    form = Enquiry({"customer": "Águas do Vale", "flow": "1.000", "flow_unit": "m3h"})
    values = {
        "request": request,
        "site": {"name": "Tamebrook Pump Works", "is_demonstration": True},
        "user": Person(username="mq", first_name="Marta", last_name="Quiroga"),
        "navigation": (("Sign in", "login"), ("Password", "password_change")),
        "body_class": body_class,
        "now": NOW,
        "bars": [bar(number) for number in range(3)],
        "ruler": svg(draw(TimeRuler(FIRST, LAST, NOW))),
        "chart": chart(),
        "states": STATES,
        "cautions": CAUTIONS,
        "page": Paginator(range(45), 20).page(2),
        "form": form,
    }
    context = Context(values)
    context.request = request  # type: ignore[attr-defined]
    with timezone.override(ZONE):
        return str(Template(text).render(context))
