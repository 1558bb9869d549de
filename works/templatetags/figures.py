"""Filters that show a quantity with its unit; one a quantity, all from `works.formats`.

`{{ duty.flow_m3s|flow }}` → 250 m³/h; `{{ duty.flow_m3s|flow:2 }}` sets the decimals.
"""

from django import template

from works import formats

register = template.Library()

for show in (
    formats.number,
    formats.flow,
    formats.head,
    formats.power,
    formats.pressure,
    formats.percent,
    formats.mm,
    formats.metres,
    formats.kg,
    formats.speed,
    formats.temperature,
    formats.density,
    formats.viscosity,
    formats.days,
    formats.hours,
    formats.in_hand,
    formats.isodate,
    formats.weekday,
    formats.instant,
    formats.clock,
):
    register.filter(show.__name__, show)
