"""The margin map of one instrument as SVG: engine speed across, altitude up, three fields told apart by pattern.

White is where it gets enough even on the low edge of the band, dots where only some aircraft known this well would,
hatching where it does not. Words stand in the fields, drops at points of a grid; it reads the same in black and white.
Sized so that its letters are as large as the page's own on a telephone.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from vanewise.network.margin import Ceiling, GyroMargin, MarginMap
from vanewise.web.plots import ticks

WIDTH, HEIGHT = 360.0, 340.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 12.0, 30.0, 44.0
_FIGURE_COLUMNS, _FIGURE_ROWS = 5, 4


def margin_svg(
    data: MarginMap, margin: GyroMargin, name: str, marks: Sequence[tuple[float, str]], field_ft: float, key: str
) -> str:
    """The map of ``margin``; ``marks`` are engine speeds with their words, ``key`` makes the patterns' ids unique."""
    low = margin.ceiling_low_ft or margin.ceiling_ft
    high = margin.ceiling_high_ft or margin.ceiling_ft
    title = f"Where the {name} gets {margin.needed_inhg:.1f} inHg: engine speed against altitude"
    box = f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}"'
    out = [
        f'<svg class="margin" {box} role="img" aria-label="{escape(title)}" xmlns="http://www.w3.org/2000/svg">',
        _patterns(key),
        _field(data, low, high, f"url(#{key}-dots)"),
        _field(data, high, (data.altitudes_ft[-1],) * len(high), f"url(#{key}-lines)"),
        *_grid(data),
        *(
            _boundary(data, ceiling, how)
            for ceiling, how in ((low, "edge"), (high, "edge"), (margin.ceiling_ft, "own"))
        ),
        *_marks(data, marks, field_ft),
        *_figures(data, margin),
        *_words(data, low, high),
        "</svg>",
    ]
    return "".join(out)


def _patterns(key: str) -> str:
    return (
        f'<defs><pattern id="{key}-dots" width="7" height="7" patternUnits="userSpaceOnUse">'
        '<rect class="ground" width="7" height="7"/><circle class="dot" cx="3.5" cy="3.5" r="1.1"/></pattern>'
        f'<pattern id="{key}-lines" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect class="ground" width="6" height="6"/><path class="line" d="M0 0v6"/></pattern></defs>'
    )


def _x(data: MarginMap, rpm: float) -> float:
    return LEFT + (rpm - data.rpms[0]) / (data.rpms[-1] - data.rpms[0]) * (WIDTH - LEFT - RIGHT)


def _y(data: MarginMap, feet: float) -> float:
    low, high = data.altitudes_ft[0], data.altitudes_ft[-1]
    return HEIGHT - BOTTOM - (feet - low) / (high - low) * (HEIGHT - TOP - BOTTOM)


def _heights(data: MarginMap, ceiling: Ceiling) -> list[float]:
    return [data.altitudes_ft[0] if height is None else height for height in ceiling]


def _corners(data: MarginMap, ceiling: Ceiling) -> list[str]:
    return [
        f"{_x(data, rpm):.1f} {_y(data, height):.1f}"
        for rpm, height in zip(data.rpms, _heights(data, ceiling), strict=True)
    ]


def _field(data: MarginMap, lower: Ceiling, upper: Ceiling, fill: str) -> str:
    """What lies between two ceilings."""
    return (
        f'<path class="area" fill="{fill}" d="M{"L".join([*_corners(data, lower), *_corners(data, upper)[::-1]])}Z"/>'
    )


def _boundary(data: MarginMap, ceiling: Ceiling, how: str) -> str:
    return f'<path class="{how}" d="M{"L".join(_corners(data, ceiling))}"/>'


def _grid(data: MarginMap) -> list[str]:
    out = []
    for feet in ticks(data.altitudes_ft[0], data.altitudes_ft[-1], 5):
        y = _y(data, feet)
        out.append(f'<path class="grid" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
        words = f"{feet / 1000:g}"
        out.append(f'<text x="{LEFT - 6:g}" y="{y + 4.5:.1f}" text-anchor="end">{words}</text>')
    for rpm in ticks(data.rpms[0], data.rpms[-1], 5):
        x = _x(data, rpm)
        out.append(f'<path class="grid" d="M{x:.1f} {TOP:g}V{HEIGHT - BOTTOM:g}"/>')
        out.append(f'<text x="{x:.1f}" y="{HEIGHT - BOTTOM + 17:g}" text-anchor="middle">{rpm:,.0f}</text>')
    out.append(f'<path class="axis" d="M{LEFT:g} {TOP:g}V{HEIGHT - BOTTOM:g}H{WIDTH - RIGHT:g}"/>')
    out.append(
        f'<text x="{(LEFT + WIDTH - RIGHT) / 2:g}" y="{HEIGHT - 7:g}" text-anchor="middle">Engine speed, rpm</text>'
    )
    middle = (TOP + HEIGHT - BOTTOM) / 2
    out.append(
        f'<text transform="translate(14 {middle:g}) rotate(-90)" text-anchor="middle">Pressure altitude, 1000 ft</text>'
    )
    return out


def _marks(data: MarginMap, marks: Sequence[tuple[float, str]], field_ft: float) -> list[str]:
    """Engine speeds people fly at, named above the map, and the home field."""
    out = []
    for rpm, words in marks:
        x = _x(data, rpm)
        out.append(f'<path class="mark" d="M{x:.1f} {TOP - 6:g}V{HEIGHT - BOTTOM:g}"/>')
        out.append(f'<text x="{x:.1f}" y="{TOP - 11:g}" text-anchor="middle">{escape(words)}</text>')
    if data.altitudes_ft[0] < field_ft < data.altitudes_ft[-1]:
        out.append(f'<path class="mark" d="M{LEFT:g} {_y(data, field_ft):.1f}H{WIDTH - RIGHT:g}"/>')
    return out


def _spots(count: int, wanted: int) -> list[int]:
    """Places of ``wanted`` points spread over ``count``, a little in from both ends."""
    return sorted({round((number + 0.5) * (count - 1) / wanted) for number in range(wanted)})


def _figures(data: MarginMap, margin: GyroMargin) -> list[str]:
    """The drop of the aircraft as described, where it stands on the map."""
    out = []
    for row in _spots(len(data.altitudes_ft), _FIGURE_ROWS):
        for column in _spots(len(data.rpms), _FIGURE_COLUMNS):
            drop = margin.drop_inhg[row][column]
            x, y = _x(data, data.rpms[column]), _y(data, data.altitudes_ft[row]) + 4.5
            words = "–" if drop is None else f"{drop:.1f}"
            out.append(f'<text class="figure" x="{x:.1f}" y="{y:.1f}" text-anchor="middle">{words}</text>')
    return out


def _words(data: MarginMap, low: Ceiling, high: Ceiling) -> list[str]:
    """What a field says, where it is wide enough to say it."""
    out = []
    bottom, top = data.altitudes_ft[0], data.altitudes_ft[-1]
    lows, highs = _heights(data, low), _heights(data, high)
    # Between two rows of figures, which stand at a tenth and at two fifths of the height, and so on.
    if lows[-1] - bottom > 0.35 * (top - bottom):
        out.append(_said(WIDTH - RIGHT - 6, _y(data, bottom + 0.23 * (top - bottom)), "enough", "end"))
    if top - highs[0] > 0.35 * (top - bottom):
        out.append(_said(LEFT + 6, _y(data, bottom + 0.73 * (top - bottom)), "not enough", "start"))
    return out


def _said(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text class="said" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{words}</text>'
