"""Route bars and their time scale as pictures."""

from datetime import datetime, timedelta

from works.drawing.inks import Ink, Pattern
from works.drawing.marks import (
    Hot,
    Mark,
    Picture,
    Trace,
    Words,
    box,
    filled,
    line,
)
from works.drawing.route import Flag, RouteBar, Stretch, StretchState, TimeRuler
from works.drawing.scales import TimeScale, mondays, months
from works.formats import weekday

EDGE = 10.0  # room left and right, so that a mark at an end is whole [px]
HEAD = 9.0  # room above the lanes for the marks' heads [px]
FOOT = 3.0
GAP = 3.0  # between lanes [px]
WEEKS_AT_MOST = timedelta(weeks=20)

LOOKS: dict[StretchState, tuple[Ink, Pattern, str]] = {
    StretchState.DONE: (Ink.SOFT, Pattern.SOLID, "done"),
    StretchState.RUNNING: (Ink.ACCENT, Pattern.SOLID, "running"),
    StretchState.PLANNED: (Ink.INK, Pattern.EMPTY, "planned"),
    StretchState.PASSING: (Ink.INK, Pattern.DOTS, "passing"),
    StretchState.HELD: (Ink.HOLD, Pattern.UPRIGHT, "held"),
    StretchState.LATE: (Ink.BAD, Pattern.RISING, "late"),
}
FLAG_WORDS: dict[Flag, str] = {
    Flag.SHIP_BY: "Ship by",
    Flag.PUBLISHED: "Published",
    Flag.FINISH: "Forecast",
    Flag.HOLD: "Hold",
}


def draw_route(bar: RouteBar) -> Picture:
    """The picture of a route: resting spans, stretches, today's line, then the dates' marks."""
    scale = TimeScale(bar.first, bar.last, EDGE, bar.width - EDGE)
    foot = HEAD + bar.lanes * (bar.lane_height + GAP) - GAP
    marks: list[Mark | Hot] = []
    for start, end in bar.resting:
        left, right = scale.within(start), scale.within(end)
        if right > left:
            marks.append(box(left, HEAD, right - left, foot - HEAD, fill=Ink.SUNK))
    marks += [
        line((scale(at), HEAD), (scale(at), foot), Ink.RULE) for at in _rule(bar.first, bar.last)
    ]
    marks.append(line((scale.start, foot), (scale.end, foot), Ink.RULE_STRONG))
    marks += [
        _stretch(stretch, scale, bar.lane_height)
        for stretch in bar.stretches
        if stretch.end > bar.first and stretch.start < bar.last
    ]
    if bar.first <= bar.now <= bar.last:
        marks.append(_today(bar.now, scale, foot))
    ship_by = dict(bar.marks).get(Flag.SHIP_BY)
    marks += [_flag(flag, at, scale, foot, ship_by) for flag, at in bar.marks]
    return Picture(bar.width, foot + FOOT, bar.title, bar.description, tuple(marks))


def _rule(first: datetime, last: datetime) -> tuple[datetime, ...]:
    return mondays(first, last) if last - first <= WEEKS_AT_MOST else months(first, last)


def _stretch(stretch: Stretch, scale: TimeScale, height: float) -> Hot:
    ink, pattern, word = LOOKS[stretch.state]
    left, right = scale.within(stretch.start), scale.within(stretch.end)
    top = HEAD + stretch.lane * (height + GAP)
    shape = filled(left, top + 1, max(right - left, 1.5), height - 2, ink, pattern)
    start, end = _day(stretch.start, scale), _day(stretch.end, scale)
    says = f"{stretch.label}: {word}, {start} to {end}"
    return Hot(shape, says)


def _day(at: datetime, scale: TimeScale) -> str:
    """The date in the zone of the scale's first instant, which is the works' own."""
    return weekday(at.astimezone(scale.first.tzinfo).date())


def _today(now: datetime, scale: TimeScale, foot: float) -> Hot:
    at = scale(now)
    head = Trace(((at - 4, 0.5), (at + 4, 0.5), (at, 7.0)), None, Ink.ACCENT, closed=True)
    halo = line((at, HEAD), (at, foot), Ink.RAISED, 5.0)  # or it drowns in a running stretch
    stroke = line((at, 0), (at, foot + FOOT), Ink.ACCENT, 2.0)
    return Hot((halo, stroke, head), f"Today, {_day(now, scale)}")


def _flag(flag: Flag, at: datetime, scale: TimeScale, foot: float, ship_by: datetime | None) -> Hot:
    late = flag is Flag.FINISH and ship_by is not None and at > ship_by
    says = f"{FLAG_WORDS[flag]} {_day(at, scale)}{', late' if late else ''}"
    if not scale.first <= at <= scale.last:
        return Hot((_pointer(scale, foot, after=at > scale.last),), f"{says}, beyond the scale")
    x = scale(at)
    if flag is Flag.SHIP_BY:
        pennant = Trace(((x, 0.5), (x - 9, 4.5), (x, 8.5)), None, Ink.INK, closed=True)
        return Hot((line((x, 0), (x, foot + FOOT), Ink.INK, 2.4), pennant), says)
    if flag is Flag.PUBLISHED:
        ring = Trace(((x, 1), (x + 5, 1), (x + 5, 8), (x, 8)), Ink.INK, width=1.4, closed=True)
        return Hot((line((x, 0), (x, foot), Ink.INK, 1.2, 3, 2), ring), says)
    if flag is Flag.HOLD:
        bars = (box(x - 4, 0.5, 3, 8, fill=Ink.HOLD), box(x + 1, 0.5, 3, 8, fill=Ink.HOLD))
        return Hot((*bars, line((x, 8), (x, foot), Ink.HOLD, 1.2)), says)
    ink = Ink.BAD if late else Ink.GOOD
    middle = (HEAD + foot) / 2
    diamond = Trace(
        ((x, middle - 7), (x + 7, middle), (x, middle + 7), (x - 7, middle)),
        Ink.RAISED,
        ink,
        1.4,
        closed=True,
    )
    return Hot((diamond,), says)


def _pointer(scale: TimeScale, foot: float, *, after: bool) -> Trace:
    """An arrow at the end of the scale: the date lies further on."""
    middle = (HEAD + foot) / 2
    base, tip = (scale.end + 1, scale.end + 9) if after else (scale.start - 1, scale.start - 9)
    corners = ((base, middle - 5), (tip, middle), (base, middle + 5))
    return Trace(corners, None, Ink.INK, closed=True)


def draw_ruler(ruler: TimeRuler) -> Picture:
    """The time scale: months above, ISO weeks below where they have room, today's line."""
    scale = TimeScale(ruler.first, ruler.last, EDGE, ruler.width - EDGE)
    marks: list[Mark | Hot] = []
    for start in (ruler.first, *months(ruler.first, ruler.last)):
        x = scale(start)
        if start != ruler.first:
            marks.append(line((x, 2), (x, 32), Ink.RULE_STRONG))
        follows = [at for at in months(ruler.first, ruler.last) if at > start]
        room = (scale(follows[0]) if follows else scale.end) - x
        if room > 52:
            marks.append(Words((x + 4, 13), f"{start:%Y-%m}", 12, Ink.INK, bold=True))
    marks += _weeks(ruler, scale)
    marks.append(line((scale.start, 32), (scale.end, 32), Ink.INK, 1.4))
    if ruler.first <= ruler.now <= ruler.last:
        marks.append(line((scale(ruler.now), 18), (scale(ruler.now), 34), Ink.ACCENT, 2.0))
    title = f"Time scale from {_day(ruler.first, scale)} to {_day(ruler.last, scale)}."
    today = f"Today is {_day(ruler.now, scale)}."
    return Picture(ruler.width, 34.0, title, today, tuple(marks))


def _weeks(ruler: TimeRuler, scale: TimeScale) -> list[Mark]:
    starts = mondays(ruler.first, ruler.last)
    if len(starts) < 2:
        return []
    room = scale(starts[1]) - scale(starts[0])
    every = next((count for count in (1, 2, 4) if room * count >= 30), 8)
    marks: list[Mark] = []
    for start in starts:
        x, week = scale(start), start.isocalendar().week
        marks.append(line((x, 27), (x, 32), Ink.RULE_STRONG))
        if week % every == 0 and x + 28 <= scale.end:
            marks.append(Words((x + 2, 28), f"W{week:02d}", 11, Ink.SOFT))
    return marks
