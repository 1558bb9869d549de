"""A common time scale for routes: whole weeks from before today to beyond what is shown."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from schedule.queries.bars import Bar, drawing
from works.drawing import TimeRuler, draw, svg

WEEKS_BACK, WEEKS_LEAST, WEEKS_MOST = 2, 10, 26


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Ends and size that the ruler and the bars below it share.

    width : a smaller one in the same place makes words bigger [px]
    lane_height : of the bars [px]
    """

    first: datetime
    last: datetime
    now: datetime
    zone: ZoneInfo
    width: float
    lane_height: float

    @property
    def ruler(self) -> str:
        """The ruler as SVG."""
        return svg(draw(TimeRuler(self.first, self.last, self.now, self.width)))

    def picture(self, bar: Bar, title: str) -> str:
        """One route's bar as SVG."""
        model = drawing(
            bar,
            title=title,
            first=self.first,
            last=self.last,
            now=self.now,
            width=self.width,
            zone=self.zone,
        )
        return svg(draw(replace(model, lane_height=self.lane_height)))


def time_scale(
    bars: Sequence[Bar],
    *,
    now: datetime,
    zone: ZoneInfo,
    width: float,
    lane_height: float = 10.0,
) -> Scale:
    """The scale that shows all of the bars, unless they reach too far."""
    today = now.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
    first = today - timedelta(days=today.weekday(), weeks=WEEKS_BACK)
    needed = max((bar.last for bar in bars), default=now) - first
    weeks = min(max(needed // timedelta(weeks=1) + 1, WEEKS_LEAST), WEEKS_MOST)
    return Scale(
        first=first,
        last=first + timedelta(weeks=weeks),
        now=now,
        zone=zone,
        width=width,
        lane_height=lane_height,
    )
