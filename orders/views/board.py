"""The board and its wall view: both fetch their part anew when something happened."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from orders.forms.board import BoardFilter
from orders.queries.board import Wish, board
from orders.queries.five import five_numbers
from works.queries import version

WALL_ROWS = 10
WALL_WIDTH, WALL_LANE = 520.0, 6.5


@require_GET
@never_cache
@vary_on_headers("HX-Request")
def board_page(request: HttpRequest) -> HttpResponse:
    """Show open orders, latest first; the part alone when htmx asks."""
    since = version()  # read first: what happens meanwhile is fetched the next time
    form = BoardFilter(request.GET)
    is_right = form.is_valid()
    wish = form.wish() if is_right else Wish()
    now = timezone.now()
    shown = board(wish, now=now)
    context = {
        "form": form,
        "board": shown,
        "five": five_numbers(shown.everything, now=now),
        "sort": wish.sort,
        "since": since,
        "is_filtered": shown.left_out > 0 or not is_right,
    }
    page = "orders/_board.html" if request.htmx else "orders/board.html"  # type: ignore[attr-defined]
    return render(request, page, context, status=200 if is_right else 422)


@require_GET
@never_cache
@vary_on_headers("HX-Request")
def wall(request: HttpRequest) -> HttpResponse:
    """The board to be read from metres away; read-only, refreshes itself."""
    since = version()
    now = timezone.now()
    shown = board(Wish(), now=now, width=WALL_WIDTH, lane_height=WALL_LANE)
    context = {
        "board": shown,
        "rows": shown.rows[:WALL_ROWS],
        "more": max(0, len(shown.rows) - WALL_ROWS),
        "five": five_numbers(shown.everything, now=now),
        "since": since,
    }
    page = "orders/_wall.html" if request.htmx else "orders/wall.html"  # type: ignore[attr-defined]
    return render(request, page, context)
