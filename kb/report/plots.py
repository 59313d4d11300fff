"""Pictures of a formula for paper and screen: consistency over temperature, solids, composition.

Lines differ in stroke, marker and label as well as in colour, bars in hatching, and every picture
brings its own light ground, so that it reads in print, in dark mode and without colour vision.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from kb.engine.batch import Phases, Share
from kb.engine.curves import Curve, Curves, DoseCurve
from kb.engine.profile import Profile
from kb.errors import UsageError
from kb.store.snapshot import Snapshot

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FORMATS = (".svg", ".png")
GROUND, INK, _GRID = "#ffffff", "#1a1a1a", "#c8c8c8"
_DPI = 150
#: The sheet, in inches: width, head, room over and under a panel, one row of a key, margins.
_WIDTH_IN, _HEAD_IN, _OVER_IN, _UNDER_IN, _KEY_IN = 7.2, 0.45, 0.36, 0.58, 0.17
_LEFT_IN, _RIGHT_IN, _LETTER_IN = 0.95, 0.35, 0.066
_TALL_IN, _FLAT_IN, BAR_IN, _FOOT_IN, _ROW_IN = 2.6, 1.9, 0.21, 0.2, 0.2
_TITLE_LETTERS = 66
#: Bars of one phase that are shown by name; the rest go together.
_MOST_BARS = 9
#: Anything below this many mPa.s is told in mPa.s, above in Pa.s.
_THOUSAND = 1000.0
#: The axis of consistency spans at least this factor, so that nothing flat looks steep.
_LEAST_SPAN = 100.0


@dataclass(frozen=True, slots=True)
class _Style:
    colour: str
    line: str
    marker: str
    hatch: str


#: Blue and vermilion keep apart under every kind of colour blindness and in grey (Okabe and Ito).
_FIRST = _Style("#0072b2", "-", "o", "")
_SECOND = _Style("#b34700", "--", "s", "///")
_BARS = {
    "oil": ("#e6b800", ""),
    "water": ("#7fb8de", "///"),
    "powder": ("#a0a0a0", "xxx"),
}


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a comparison: what it is called, its curves and its phases."""

    label: str
    curves: Curves
    phases: Phases


def check_format(path: str) -> None:
    """Raise early when a picture cannot be written: unknown ending, or matplotlib missing.

    Raises
    ------
    UsageError
        The file does not end in .svg or .png, or the extra is not installed.
    """
    if Path(path).suffix.lower() not in FORMATS:
        raise UsageError(
            "A picture is written as SVG or PNG.", path, "End the name in .svg or .png."
        )
    _matplotlib()


def check_figure(profile: Profile, found: Curves, base: Snapshot, title: str) -> Figure:
    """Return the picture of ``kb check``: consistency, solids and composition by phase.

    Parameters
    ----------
    profile : Profile
    found : Curves
        Curves of the profile.
    base : Snapshot
    title : str
        Name of the formula.
    """
    rows = _bars(profile.phases, base)
    panels = [(_TALL_IN, 0), (_FLAT_IN, 0), (_bars_high(rows), 1)]
    with drawing(title, panels, _longest(rows)) as (figure, axes):
        _consistency(axes[0], [("", found, _FIRST)], profile)
        _solids(axes[1], [("", found, _FIRST)])
        _composition(axes[2], rows)
    return figure


def swap_figure(
    before: Side, after: Side, ratio: Curve | None, base: Snapshot, title: str
) -> Figure:
    """Return the picture of ``kb swap``: consistency before and after, its change, solids.

    Parameters
    ----------
    before, after : Side
    ratio : Curve or None
        Consistency after over before.
    base : Snapshot
    title : str
        What is replaced in which formula.
    """
    rows = _bars(after.phases, base)
    sides = [
        (short(before.label, 70), before.curves, _FIRST),
        (short(after.label, 70), after.curves, _SECOND),
    ]
    panels = [(_TALL_IN, 2), (_FLAT_IN, 0), (_FLAT_IN, 2), (_bars_high(rows), 1)]
    with drawing(title, panels, _longest(rows)) as (figure, axes):
        _consistency(axes[0], sides, None)
        _ratio(axes[1], ratio)
        _solids(axes[2], sides)
        _composition(axes[3], rows, "Composition by phase, after")
    return figure


def dose_figure(found: DoseCurve, title: str) -> Figure:
    """Return the picture of a dose: the effect against the level of a stand-in.

    Marked are the level of the old material (1:1), the level that was chosen, and the effect to
    be matched.

    Parameters
    ----------
    found : DoseCurve
    title : str
        What is replaced in which formula.
    """
    with drawing(title, [(_TALL_IN, 3)], 0, "") as (figure, axes):
        _dose(axes[0], found)
    return figure


def rendered(figure: Figure, path: str) -> bytes:
    """Return a picture as the bytes of an SVG or PNG file; the same picture gives the same bytes.

    Parameters
    ----------
    figure : Figure
    path : str
        Its ending says which of the two.

    Raises
    ------
    UsageError
        The ending is neither.
    """
    check_format(path)
    kind = Path(path).suffix.lower().removeprefix(".")
    nothing = {"svg": ("Date", "Creator"), "png": ("Software",)}[kind]
    about = {"Title": " ".join(figure.get_suptitle().split()), **dict.fromkeys(nothing)}
    out = BytesIO()
    with _settings():
        figure.savefig(out, format=kind, dpi=_DPI, facecolor=GROUND, metadata=about)
    return out.getvalue()


# -- the sheet --------------------------------------------------------------------------------


def _matplotlib() -> Any:
    try:
        import matplotlib
    except ImportError:
        raise UsageError(
            "Pictures need matplotlib, which is not installed.",
            "--plot",
            'Install the extra "plot": pip install "like-for-like[plot]".',
        ) from None
    return matplotlib


def _settings() -> Any:
    return _matplotlib().rc_context(
        {
            "svg.hashsalt": "like-for-like",
            "svg.fonttype": "path",
            "font.family": "DejaVu Sans",
            "font.size": 9.0,
            "text.color": INK,
            "axes.labelcolor": INK,
            "axes.edgecolor": INK,
            "xtick.color": INK,
            "ytick.color": INK,
            "hatch.linewidth": 0.6,
            "axes.unicode_minus": False,
        }
    )


@contextmanager
def drawing(
    title: str,
    panels: Sequence[tuple[float, int]],
    longest: int,
    foot: str = "lines: central value; bands: 90 % range",
) -> Iterator[tuple[Figure, list[Axes]]]:
    """Give a figure with its panels one below the other.

    Every place is set in inches: a layout that is solved for moves in its last digits from run to
    run, and the same picture would not give the same file.

    Parameters
    ----------
    title : str
    panels : sequence of tuple
        Height in inches and rows of the key above, for each.
    longest : int
        Letters of the longest name beside a bar.
    foot : str
        What is said at the foot of the sheet.
    """
    with _settings():
        from matplotlib.figure import Figure

        rows = wrap(title, _TITLE_LETTERS) or [""]
        head = _HEAD_IN + _ROW_IN * (len(rows) - 1)
        high = head + sum(h + _OVER_IN + _KEY_IN * k + _UNDER_IN for h, k in panels) + _FOOT_IN
        figure = Figure(figsize=(_WIDTH_IN, high), facecolor=GROUND)
        left = max(_LEFT_IN, 0.22 + _LETTER_IN * longest)
        wide = (_WIDTH_IN - left - _RIGHT_IN) / _WIDTH_IN
        axes, down = [], head
        for height, key in panels:
            down += _OVER_IN + _KEY_IN * key + height
            place = (left / _WIDTH_IN, 1.0 - down / high, wide, height / high)
            axes.append(figure.add_axes(place))
            down += _UNDER_IN
        figure.suptitle(
            "\n".join(rows),
            x=0.02,
            y=1.0 - 0.12 / high,
            ha="left",
            va="top",
            fontsize=12,
            fontweight="bold",
        )
        figure.text(
            1.0 - 0.1 / _WIDTH_IN,
            0.08 / high,
            foot,
            ha="right",
            fontsize=8,
        )
        yield figure, axes


def _panel(axes: Axes, title: str, y_label: str) -> None:
    axes.set_facecolor(GROUND)
    axes.set_title(title, loc="left", fontsize=10, fontweight="bold")
    axes.set_ylabel(y_label)
    axes.set_xlabel("temperature, °C")
    axes.set_xlim(5.0, 45.0)
    axes.grid(True, which="major", color=_GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _silent(axes: Axes, title: str, why: str) -> None:
    """Say in words why there is no curve."""
    axes.set_facecolor(GROUND)
    axes.set_title(title, loc="left", fontsize=10, fontweight="bold")
    axes.text(0.02, 0.6, why, transform=axes.transAxes, va="center")
    axes.set_axis_off()


# -- the panels -------------------------------------------------------------------------------


def _line(axes: Axes, curve: Curve, style: _Style, label: str, factor: float = 1.0) -> None:
    t = curve.temperatures_c
    low, high = ([v * factor for v in ends] for ends in (curve.low, curve.high))
    central = [v * factor for v in curve.central]
    if low != high:
        axes.fill_between(
            t,
            low,
            high,
            facecolor=style.colour + "26",
            edgecolor=style.colour + "80",
            hatch=style.hatch or None,
            linewidth=0.6,
        )
    axes.plot(
        t,
        central,
        color=style.colour,
        linestyle=style.line,
        linewidth=2.0,
        marker=style.marker,
        markevery=4,
        markersize=5,
        clip_on=False,
        zorder=3,
        label=label or None,
    )


def _consistency(
    axes: Axes, sides: Sequence[tuple[str, Curves, _Style]], profile: Profile | None
) -> None:
    shown = [(label, c.consistency, style) for label, c, style in sides if c.consistency]
    title = "Consistency at 10 1/s"
    if not shown:
        limits = profile.quantities["consistency_25c"].limited_by if profile else []
        _silent(axes, title, "; ".join(limits) or "nothing can be said")
        return
    top = max(max(curve.central) for _, curve, _ in shown)
    factor, unit = (0.001, "Pa·s") if top >= _THOUSAND else (1.0, "mPa·s")
    _panel(axes, title, f"apparent viscosity, {unit}")
    axes.set_yscale("log")
    for label, curve, style in shown:
        _line(axes, curve, style, label, factor)
    _at_least(axes, _LEAST_SPAN)
    _plain_log(axes)
    legend(axes, [label for label, _, _ in shown])


def _ratio(axes: Axes, ratio: Curve | None) -> None:
    title = "Change of consistency, after over before"
    if ratio is None:
        _silent(axes, title, "one of the two has no consistency")
        return
    _panel(axes, title, "times as thick")
    axes.set_yscale("log")
    axes.axhline(1.0, color=INK, linewidth=1.0)
    axes.text(44.7, 1.03, "no change", ha="right", va="bottom", fontsize=8)
    _line(axes, ratio, _SECOND, "")
    _at_least(axes, 4.0)
    _plain_log(axes)


def _dose(axes: Axes, found: DoseCurve) -> None:
    cover = found.name == "preservative cover"
    _panel(axes, "Effect against level", "")
    factor, unit = 1.0, "1 is just enough"
    if not cover:
        thick = max(found.effects) >= _THOUSAND
        factor, unit = (0.001, "Pa·s at 25 °C") if thick else (1.0, "mPa·s at 25 °C")
    axes.set_ylabel(f"{found.name}, {unit}")
    axes.set_xlabel("level of the stand-in, % of the formula")
    axes.set_xscale("log")
    axes.set_xlim(found.levels[0], found.levels[-1])
    axes.set_yscale("log")
    effects = [value * factor for value in found.effects]
    axes.plot(
        found.levels,
        effects,
        color=_FIRST.colour,
        linestyle=_FIRST.line,
        linewidth=2.0,
    )
    axes.axhline(found.before * factor, color=INK, linewidth=1.0, linestyle=":", label="before")
    marks = (("1:1", found.one_to_one, _SECOND), ("chosen", found.chosen, _FIRST))
    labels = ["before"]
    for name, (level, effect), style in marks:
        label = f"{name}: {level:.3g} %, {effect * factor:.3g}"
        labels.append(label)
        axes.plot(
            [level],
            [effect * factor],
            color=style.colour,
            linestyle="",
            marker=style.marker,
            markersize=9,
            clip_on=False,
            zorder=4,
            label=label,
        )
    _at_least(axes, 4.0)
    _plain_log(axes)
    _plain_log(axes, across=True)
    legend(axes, labels)


def _solids(axes: Axes, sides: Sequence[tuple[str, Curves, _Style]]) -> None:
    shown = [(label, c.solids, style) for label, c, style in sides if c.solids]
    title = "Solids of the oil phase"
    if not shown:
        _silent(axes, title, "no oil phase")
        return
    _panel(axes, title, "solid, % of the oil phase")
    for label, curve, style in shown:
        _line(axes, curve, style, label)
    top = max(max(curve.high) for _, curve, _ in shown)
    axes.set_ylim(0.0, max(1.05 * top, 5.0))
    legend(axes, [label for label, _, _ in shown])


def _bars(phases: Phases, base: Snapshot) -> list[tuple[str, str, float]]:
    """Return (phase, label, percent) from top to bottom, each phase by falling share."""
    rows: list[tuple[str, str, float]] = []
    for phase in ("oil", "water", "powder"):
        shares: tuple[Share, ...] = getattr(phases, phase)
        ranked = sorted(shares, key=lambda s: (-s.percent, s.material))
        for share in ranked[:_MOST_BARS]:
            rows.append((phase, short(base.materials[share.material].inci), share.percent))
        rest = ranked[_MOST_BARS:]
        if rest:
            rows.append((phase, f"{len(rest)} more", sum(s.percent for s in rest)))
    return rows


def _bars_high(rows: Sequence[tuple[str, str, float]]) -> float:
    return 0.15 + BAR_IN * max(len(rows), 2)


def _longest(rows: Sequence[tuple[str, str, float]]) -> int:
    return max((len(name) for _, name, _ in rows), default=0)


def short(name: str, most: int = 38) -> str:
    """Cut a name that is too long to stand beside a bar."""
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"


def _composition(
    axes: Axes, rows: Sequence[tuple[str, str, float]], title: str = "Composition by phase"
) -> None:
    if not rows:
        _silent(axes, title, "no known material")
        return
    axes.set_facecolor(GROUND)
    axes.set_title(title, loc="left", fontsize=10, fontweight="bold")
    totals: dict[str, float] = {}
    for phase, _, percent in rows:
        totals[phase] = totals.get(phase, 0.0) + percent
    told: set[str] = set()
    for n, (phase, _, percent) in enumerate(rows):
        colour, hatch = _BARS[phase]
        label = None if phase in told else f"{phase} {_percent(totals[phase])}"
        told.add(phase)
        axes.barh(
            n,
            percent,
            height=0.72,
            color=colour,
            edgecolor=INK,
            hatch=hatch or None,
            linewidth=0.6,
            label=label,
        )
        axes.text(percent, n, f" {_percent(percent)}", va="center", ha="left", fontsize=8)
    axes.set_yticks(range(len(rows)), [name for _, name, _ in rows], fontsize=8)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_xlim(0.0, 1.16 * max(percent for *_, percent in rows))
    axes.set_xlabel("% of the formula")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    legend(axes, list(totals))


# -- figures on the axes ----------------------------------------------------------------------


def _percent(value: float) -> str:
    return f"{value:.3g} %"


def legend(axes: Axes, labels: Sequence[str]) -> None:
    """Put the key between title and panel, where it covers nothing; long names one to a row."""
    if not any(labels):
        return
    rows = len(labels) if max(len(label) for label in labels) > 20 else 1
    axes.set_title(
        axes.get_title(loc="left"), loc="left", fontsize=10, fontweight="bold", pad=8 + 12 * rows
    )
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=len(labels) // rows,
        frameon=False,
        fontsize=8,
        handlelength=3.5,
        borderpad=0.1,
        borderaxespad=0.2,
        labelspacing=0.3,
    )


def _at_least(axes: Axes, span: float) -> None:
    """Widen a logarithmic axis around its middle to a least factor."""
    low, high = axes.get_ylim()
    if high / low < span:
        middle = math.sqrt(low * high)
        axes.set_ylim(middle / math.sqrt(span), middle * math.sqrt(span))


def _plain_log(axes: Axes, *, across: bool = False) -> None:
    """Label a logarithmic axis with plain numbers, in steps of 1, 2 and 5 where there is room."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    low, high = axes.get_xlim() if across else axes.get_ylim()
    axis = axes.xaxis if across else axes.yaxis
    decades = math.log10(high / low)
    steps = (1.0, 2.0, 5.0) if decades <= 2.5 else (1.0,)
    first = math.floor(math.log10(low))
    ticks = [s * 10.0**k for k in range(first, first + math.ceil(decades) + 2) for s in steps]
    axis.set_major_locator(FixedLocator([t for t in ticks if low <= t <= high]))
    axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.6g}"))
