"""Castings: the shelf, old patterns, one piece, and what happens when one is lost."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from schedule.actions import pieces as actions
from schedule.forms.fields import today
from schedule.forms.pieces import PairForm, PourForm, ScrapForm, SwapForm, TakeForm
from schedule.models import Piece, Unit
from schedule.queries.pieces import candidates, on_the_shelf, poured_to_an_old_pattern
from schedule.views.answers import form_page
from works.models import Event
from works.requests import signed_in


@require_GET
def pieces(request: HttpRequest) -> HttpResponse:
    """What lies on the shelf, what units have taken, and what was poured to an old pattern."""
    taken = (
        Piece.objects.select_related("pattern", "unit__route")
        .filter(state=Piece.State.TAKEN, unit__shipped_on=None)
        .order_by("unit__route__label", "unit__number", "part")
    )
    context = {"shelf": on_the_shelf(), "old": poured_to_an_old_pattern(), "taken": taken}
    return render(request, "schedule/pieces.html", context)


@require_GET
def piece(request: HttpRequest, pk: int) -> HttpResponse:
    """One piece: where it came from, whose it is, and who could give another."""
    shown = get_object_or_404(Piece.objects.select_related("pattern", "unit__route"), pk=pk)
    context = {
        "piece": shown,
        "old": shown.pattern_revision != shown.pattern.revision,
        "candidates": candidates(shown),
        "events": Event.objects.about(shown)[:50],
    }
    return render(request, "schedule/piece.html", context)


@require_http_methods(["GET", "POST"])
def pour(request: HttpRequest) -> HttpResponse:
    """Register a piece."""
    form = PourForm(request.POST or None, initial={"poured_on": today()})

    def do() -> object:
        said = form.cleaned_data
        unit = said["unit"]
        new = actions.NewPiece(
            mark=said["mark"],
            part=said["part"],
            pattern_number=said["pattern"].number,
            metal=said["metal"],
            heat=said["heat"],
            unit_id=unit.pk if unit else None,
            rotation=said["rotation"],
        )
        return actions.pour(
            pieces=[new], poured_on=said["poured_on"], by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        do,
        done="The piece is registered.",
        to=reverse("schedule:pieces"),
        title="Register a piece",
        lead="Its pattern's revision of today goes with it.",
        submit="Register",
    )


@require_http_methods(["GET", "POST"])
def take(request: HttpRequest, pk: int) -> HttpResponse:
    """A unit takes a piece from the shelf."""
    shown = get_object_or_404(Piece, pk=pk)
    form = TakeForm(request.POST or None)

    def do() -> object:
        unit: Unit = form.cleaned_data["unit"]
        return actions.take_from_shelf(
            piece_id=pk, unit_id=unit.pk, by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        do,
        done=f"{shown.mark} is taken.",
        to=reverse("schedule:piece", args=[pk]),
        title=f"Take {shown.mark} from the shelf",
        submit="Take",
    )


@require_http_methods(["GET", "POST"])
def swap(request: HttpRequest, pk: int) -> HttpResponse:
    """Two units exchange pieces."""
    shown = get_object_or_404(Piece.objects.select_related("unit__route"), pk=pk)
    form = SwapForm(request.POST or None, piece=shown)

    def do() -> object:
        return actions.swap_between_units(
            piece_id=pk,
            other_piece_id=form.cleaned_data["other"].pk,
            reason=form.cleaned_data["reason"],
            by=signed_in(request),
            at=timezone.now(),
        )

    return form_page(
        request,
        form,
        do,
        done="The pieces are swapped.",
        to=reverse("schedule:piece", args=[pk]),
        title=f"Swap {shown.mark}",
        lead=f"now with {shown.unit}" if shown.unit else "",
        submit="Swap",
    )


@require_http_methods(["GET", "POST"])
def pair(request: HttpRequest, pk: int) -> HttpResponse:
    """A unit's halves become a pair."""
    unit = get_object_or_404(Unit.objects.select_related("route"), pk=pk)
    form = PairForm(request.POST or None)

    def do() -> object:
        return actions.pair_halves(
            unit_id=pk, pair=form.cleaned_data["pair"], by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        do,
        done="The halves are a pair from now on.",
        to=reverse("schedule:route", args=[unit.route_id]),
        title=f"Pair the halves of unit {unit.number}",
        lead=f"{unit.route}. Bored together, they stay together.",
        submit="Pair",
    )


@require_http_methods(["GET", "POST"])
def scrap(request: HttpRequest, pk: int) -> HttpResponse:
    """Scrap a piece and decide whose order suffers."""
    shown = get_object_or_404(Piece.objects.select_related("pattern", "unit__route"), pk=pk)
    form = ScrapForm(request.POST or None, piece=shown, candidates=candidates(shown))

    def do() -> object:
        return actions.scrap_piece(
            piece_id=pk,
            reason=form.cleaned_data["reason"],
            recast=form.recast,
            replacement_id=form.replacement_id,
            by=signed_in(request),
            at=timezone.now(),
        )

    return form_page(
        request,
        form,
        do,
        done=f"{shown.mark} is scrapped. The forecasts have moved.",
        to=reverse("schedule:piece", args=[pk]),
        title=f"Scrap {shown.mark}",
        lead="The program proposes; you decide, and your name stands under it.",
        submit="Scrap it",
        danger=True,
    )
