"""Every partial, rendered."""

import xml.etree.ElementTree as ET
from datetime import UTC, datetime

import pytest
from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest
from django.template import Context, Template
from django.template.loader import get_template
from django.test import RequestFactory
from django.utils import timezone

from works.cautions import CAUTIONS
from works.quantity_field import QuantityField
from works.states import GLYPHS, STATES, UnknownState
from works.units import Kind


class Enquiry(forms.Form):
    customer = forms.CharField(label="Customer", help_text="As on the order.")
    flow = QuantityField(kind=Kind.FLOW, label="Flow")
    sealing = forms.ChoiceField(
        label="Sealing", choices=[("p", "packing"), ("m", "seal")], widget=forms.RadioSelect
    )
    fire = forms.BooleanField(label="Fire duty", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)
    version = forms.IntegerField(widget=forms.HiddenInput, initial=3)

    def clean(self) -> None:
        if "sealing" not in self.cleaned_data:
            raise forms.ValidationError("A pump needs a sealing.")


def render(text: str, request: HttpRequest | None = None, **values: object) -> str:
    context = Context(values)
    if request is not None:
        context["request"] = context.request = request  # type: ignore[attr-defined]
    return str(Template(text).render(context))


@pytest.mark.parametrize("key", STATES)
def test_a_state_is_a_word_and_a_drawn_shape_before_it_is_a_colour(key: str) -> None:
    html = render("{% load states %}{% state key %}", key=key)
    span = ET.fromstring(html.strip())
    shape = span.find("svg")
    assert shape is not None
    assert len(shape) > 0, "the shape is empty"
    assert STATES[key].word in "".join(span.itertext())
    assert STATES[key].shape in GLYPHS


def test_states_of_one_tone_differ_in_word_and_the_opposites_in_shape() -> None:
    words = [state.word for state in STATES.values()]
    assert len(words) == len(set(words))
    for good, bad in (("on-time", "late"), ("passed", "failed"), ("released", "held")):
        assert STATES[good].shape != STATES[bad].shape
    assert len({STATES[key].shape for key in ("on-time", "at-risk", "late")}) == 3


def test_a_state_can_say_more_and_stand_big() -> None:
    html = render('{% load states %}{% state "late" "4 d late" big=True %}')
    assert "4 d late" in html
    assert "is-big" in html


def test_an_unknown_state_is_an_error_that_names_the_known_ones() -> None:
    with pytest.raises(UnknownState, match="'lost' is no state; give one of at-own-risk"):
        render('{% load states %}{% state "lost" %}')


@pytest.mark.parametrize("key", CAUTIONS)
def test_a_caution_says_all_its_sentences(key: str) -> None:
    html = render("{% load cautions %}{% caution key %}", key=key)
    tree = ET.fromstring(html.strip())
    text = " ".join("".join(tree.itertext()).split())
    assert CAUTIONS[key].title in text
    assert all(sentence in text for sentence in CAUTIONS[key].sentences)


def test_the_pressure_test_caution_forbids_gas_and_names_the_relief_valve() -> None:
    words = " ".join(CAUTIONS["hydrostatic"].sentences)
    for needed in ("Vent all air", "Never test with air or gas", "relief valve", "in steps"):
        assert needed in words


def test_a_refused_form_keeps_what_was_typed_and_ties_each_error_to_its_field() -> None:
    form = Enquiry(
        {"customer": "", "flow": "1,000", "flow_unit": "ls", "note": "<b>", "version": 3}
    )
    html = render(
        '{% include "works/_form.html" with form=form submit="Save" cancel="/" %}', form=form
    )
    assert "Nothing is saved yet." in html
    assert "A pump needs a sealing." in html
    assert 'value="1,000"' in html
    assert "&lt;b&gt;" in html
    assert 'aria-describedby="id_customer_helptext id_customer_error"' in html
    assert 'id="id_customer_error"' in html
    assert 'id="id_customer_helptext"' in html
    assert html.count('id="id_flow_error"') == 1
    assert '<label for="id_flow_0">' in html
    assert "<legend>Sealing</legend>" in html
    assert html.count('name="version"') == 1
    assert html.index('id="id_fire"') < html.index('<label for="id_fire">')


def test_a_form_works_without_script_and_says_so_to_htmx_only_when_asked() -> None:
    plain = render('{% include "works/_form.html" with form=form action="/new" %}', form=Enquiry())
    assert 'method="post" action="/new"' in plain
    assert "hx-" not in plain
    part = render(
        '{% include "works/_form.html" with form=form action="/new" target="#part" %}',
        form=Enquiry(),
    )
    assert 'method="post" action="/new"' in part
    assert 'hx-post="/new" hx-target="#part"' in part


def test_a_unit_can_stand_behind_a_field() -> None:
    html = render(
        '{% include "works/_field.html" with field=form.customer suffix="mm" %}', form=Enquiry()
    )
    assert '<span class="suffix">mm</span>' in html


@pytest.mark.parametrize(
    ("sort", "direction", "link"),
    [
        ("ship_by", "ascending", "?sort=-ship_by&amp;q=x"),
        ("-ship_by", "descending", "?sort=ship_by&amp;q=x"),
        ("number", None, "?sort=ship_by&amp;q=x"),
    ],
)
def test_a_sortable_head_says_its_order_and_leads_to_the_other(
    sort: str, direction: str | None, link: str
) -> None:
    html = render(
        '{% include "works/_sorted_th.html" with key="ship_by" label="Ship by" sort=sort %}',
        RequestFactory().get("/", {"sort": sort, "q": "x", "page": "3"}),
        sort=sort,
    )
    assert (f'aria-sort="{direction}"' in html) if direction else ("aria-sort" not in html)
    assert f'href="{link}"' in html


def test_the_pager_keeps_the_question_and_leaves_out_what_is_not_there() -> None:
    request = RequestFactory().get("/", {"q": "x", "page": "1"})
    page = Paginator(range(45), 20).page(1)
    html = render('{% include "works/_pager.html" %}', request, page=page)
    assert 'href="?q=x&amp;page=2"' in html
    assert "Page 1 of 3, 45 in all" in html
    assert 'rel="prev"' not in html
    only = Paginator(range(5), 20).page(1)
    assert render('{% include "works/_pager.html" %}', request, page=only).strip() == ""


def test_an_empty_list_says_what_and_offers_the_next_step() -> None:
    html = render(
        '{% include "works/_empty.html" with what="No orders." href="/new" action="New enquiry" %}'
    )
    assert "No orders." in html
    assert '<a class="button" href="/new">New enquiry</a>' in html


def test_as_of_carries_the_works_zone_for_the_script() -> None:
    with timezone.override("Europe/Lisbon"):
        html = render("{% load layout %}{% as_of at %}", at=datetime(2026, 7, 1, 12, 5, tzinfo=UTC))
    assert 'data-zone="Europe/Lisbon"' in html
    assert ">13:05</time>" in html
    assert 'datetime="2026-07-01T' in html


def test_the_masthead_marks_the_nearest_way_and_leaves_out_what_is_not_installed() -> None:
    html = render(
        "{% load layout %}{% navigation_items %}",
        request=RequestFactory().get("/accounts/password_change/done/"),
        navigation=(
            ("Sign in", "login"),
            ("Password", "password_change"),
            ("Nowhere", "works:no_such_page"),
        ),
    )
    assert html.count("aria-current") == 1
    assert '<a href="/accounts/password_change/" aria-current="page">Password</a>' in html
    assert "Nowhere" not in html


@pytest.mark.parametrize("name", ["400.html", "403_csrf.html", "500.html"])
def test_a_page_for_trouble_needs_nothing_to_stand_on(name: str) -> None:
    html = get_template(name).render({})
    assert "<h1>" in html
    assert "Greensand" not in html or "<title>" in html
    assert 'href="/static/css/base.css"' in html


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["404.html", "403.html", "registration/login.html"])
def test_a_page_in_the_frame_has_one_heading_and_the_caution_at_its_foot(name: str) -> None:
    request = RequestFactory().get("/")
    html = get_template(name).render({"form": Enquiry(), "messages": []}, request)
    assert html.count("<h1>") == 1
    assert '<a class="skip" href="#main">' in html
    assert 'id="main"' in html
    assert "support a competent engineer" in html


@pytest.mark.django_db
def test_the_sign_in_page_of_a_demonstration_says_that_all_is_invented() -> None:
    site = {"name": "Tamebrook Pump Works", "is_demonstration": True}
    request = RequestFactory().get("/")
    html = get_template("registration/login.html").render(
        {"form": Enquiry(), "site": site}, request
    )
    assert "are invented" in html
    real = get_template("registration/login.html").render(
        {"form": Enquiry(), "site": site | {"is_demonstration": False}}, request
    )
    assert "invented" not in real


@pytest.mark.django_db
def test_the_wall_is_dark_whatever_the_system_wishes() -> None:
    html = get_template("works/wall.html").render({}, RequestFactory().get("/"))
    assert 'class="wall" data-theme="dark"' in html
    assert "data-as-of" in html
