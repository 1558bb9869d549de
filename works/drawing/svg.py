"""A picture as SVG for a page: classes and presentation attributes, never a style attribute."""

from collections.abc import Iterator
from html import escape

from django.utils.safestring import SafeString, mark_safe

from works.drawing.callouts import callout
from works.drawing.marks import Disc, Hot, Mark, Picture, Trace, Words


def svg(picture: Picture, *, css_class: str = "") -> SafeString:
    """The picture as an element that scales with the place it stands in.

    css_class : added to the element's own
    """
    touchable = any(isinstance(mark, Hot) and mark.focusable for mark in picture.marks)
    # what is inside role="img" is hidden from assistive technology: a focusable mark needs a group
    role = "group" if touchable else "img"
    name = " ".join(filter(None, (picture.title, picture.description)))
    classes = f"drawing {css_class}".strip()
    inside = "".join(_element(mark) for mark in picture.marks)
    return mark_safe(
        f'<svg class="{escape(classes)}" viewBox="0 0 {_n(picture.width)} {_n(picture.height)}" '
        f'width="{_n(picture.width)}" height="{_n(picture.height)}" '
        f'role="{role}" aria-label="{escape(name)}">{inside}</svg>'
    )


def _element(mark: Mark | Hot) -> str:
    if isinstance(mark, Hot):
        return _hot(mark)
    if isinstance(mark, Disc):
        return (
            f'<circle cx="{_n(mark.at[0])}" cy="{_n(mark.at[1])}" r="{_n(mark.radius)}"'
            f"{_paint(mark)}/>"
        )
    if isinstance(mark, Words):
        return _words(mark)
    return _trace(mark)


def _trace(mark: Trace) -> str:
    path = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in mark.places)
    dash = f' stroke-dasharray="{" ".join(map(_n, mark.dash))}"' if mark.dash else ""
    faint = ' fill-opacity="0.18"' if mark.faint else ""
    return f'<path d="{path}{"Z" if mark.closed else ""}"{_paint(mark)}{dash}{faint}/>'


def _words(mark: Words) -> str:
    x, y = _n(mark.at[0]), _n(mark.at[1])
    anchor = f' text-anchor="{mark.anchor}"' if mark.anchor != "start" else ""
    turned = f' transform="rotate(-90 {x} {y})"' if mark.turned else ""
    bold = ' font-weight="700"' if mark.bold else ""
    return (
        f'<text x="{x}" y="{y}" font-size="{_n(mark.size)}" class="f-{mark.ink}"'
        f"{anchor}{bold}{turned}>{escape(mark.text)}</text>"
    )


def _paint(mark: Trace | Disc) -> str:
    classes = [f"s-{mark.stroke}"] if mark.stroke else []
    classes += [f"f-{mark.fill}"] if mark.fill else []
    filled = "" if mark.fill else ' fill="none"'
    catches = "" if mark.fill or mark.stroke else ' pointer-events="all"'
    width = f' stroke-width="{_n(mark.width)}"' if mark.stroke and mark.width != 1 else ""
    named = f' class="{" ".join(classes)}"' if classes else ""
    return f"{named}{filled}{catches}{width}"


def _hot(hot: Hot) -> str:
    reach = f' tabindex="0" role="img" aria-label="{escape(hot.says)}"' if hot.focusable else ""
    inside = "".join(_hot_parts(hot))
    return f'<g class="hot"{reach}>{inside}</g>'


def _hot_parts(hot: Hot) -> Iterator[str]:
    yield f"<title>{escape(hot.says)}</title>"
    for mark in hot.marks:
        yield _element(mark)
    if hot.callout is not None:
        slip = "".join(_element(mark) for mark in callout(hot.says, hot.callout))
        yield f'<g class="callout" aria-hidden="true">{slip}</g>'


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
