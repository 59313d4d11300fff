"""Pictures as plain SVG, made here and styled by the style sheet, so that they follow the theme."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from markupsafe import Markup, escape

from kb.engine.quantity import Quantity
from kb.report.paper import figure
from kb.report.tree import Tree
from kb.store.snapshot import Snapshot
from kb.web.words import property_name, quoted, unit_word

_ROW = 26
_INDENT = 18
_WIDTH = 340
_PLOT = (340, 190)
_MOST_ROLES = 8


def _svg(
    width: float, height: float, title: str, parts: Sequence[str], kind: str, role: str = "img"
) -> Markup:
    inside = "".join(parts)
    return Markup(  # noqa: S704 - every text in it is escaped where it is put in
        f'<svg class="{kind}" viewBox="0 0 {width:g} {height:g}" role="{role}" '
        f'aria-label="{escape(title)}"><title>{escape(title)}</title>{inside}</svg>'
    )


def _text(x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" class="{kind}" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )


def neighbourhood(material: str, base: Snapshot) -> Markup | None:
    """Return a material's place among the roles: those it plays filled, those above them hollow."""
    plays = {p.role: p for p in sorted(base.plays(material), key=lambda p: -p.strength)}
    played = dict(list(plays.items())[:_MOST_ROLES])
    if not played:
        return None
    wanted = {r for name in played for r in base.roles[name].ancestors}
    rows: list[tuple[int, str]] = []

    def walk(name: str, depth: int) -> None:
        if any(name == other for _, other in rows):
            return
        rows.append((depth, name))
        for child in base.roles[name].children:
            if child in wanted:
                walk(child, depth + 1)

    for root in (r.id for r in base.roles.values() if not r.parents and r.id in wanted):
        walk(root, 0)
    parts: list[str] = []
    last_at: dict[int, int] = {}
    for n, (depth, _) in enumerate(rows):
        x, y = 12 + depth * _INDENT, 18 + n * _ROW
        if depth:
            up = last_at[depth - 1]
            parts.append(
                f'<path class="twig" d="M{x - _INDENT} {up + 6}V{y - 6}q0 6 6 6H{x - 6}"/>'
            )
        last_at[depth] = y
    for n, (depth, name) in enumerate(rows):
        x, y = 12 + depth * _INDENT, 18 + n * _ROW
        play = played.get(name)
        size = 3.5 if play is None else 3.5 + 3.5 * play.strength
        kind = "above" if play is None else "played"
        label = base.roles[name].label
        words = label if len(label) < 40 else label[:38] + "…"
        parts.append(
            f'<a href="/roles/{quoted(name)}"><circle class="{kind}" cx="{x}" cy="{y}" '
            f'r="{size:.1f}"/>{_text(x + 12, y + 4.5, words, kind)}</a>'
        )
    names = ", ".join(base.roles[r].label for r in played)
    title = f"Roles of {base.materials[material].inci}: {names}"
    return _svg(_WIDTH, 10 + len(rows) * _ROW, title, parts, "tree-picture", "group")


def climate_plot(found: dict[float, Quantity]) -> Markup | None:
    """Return consistency against temperature with its range, on a logarithmic scale."""
    points = [
        (t, q.value, q.low or q.value, q.high or q.value) for t, q in sorted(found.items()) if q
    ]
    known = [(t, v, lo, hi) for t, v, lo, hi in points if v and lo and hi and lo > 0]
    if len(known) < 2:
        return None
    width, height = _PLOT
    left, right, top, bottom = 64.0, width - 14.0, 16.0, height - 30.0
    low = math.floor(math.log10(min(lo for _, _, lo, _ in known)) * 2) / 2
    high = math.ceil(math.log10(max(hi for *_, hi in known)) * 2) / 2
    if high - low < 1:
        high = low + 1

    def x(t: float) -> float:
        return left + (right - left) * (t - 5.0) / 40.0

    def y(v: float) -> float:
        return bottom - (bottom - top) * (math.log10(v) - low) / (high - low)

    parts = []
    for power in range(math.ceil(low), math.floor(high) + 1):
        at = y(10.0**power)
        parts.append(f'<path class="grid" d="M{left:.1f} {at:.1f}H{right:.1f}"/>')
        parts.append(_text(left - 8, at + 4, figure(10.0**power), "tick", "end"))
    upper = [f"{x(t):.1f} {y(hi):.1f}" for t, _, _, hi in known]
    lower = [f"{x(t):.1f} {y(lo):.1f}" for t, _, lo, _ in reversed(known)]
    parts.append(f'<path class="band" d="M{"L".join(upper + lower)}Z"/>')
    line = "L".join(f"{x(t):.1f} {y(v):.1f}" for t, v, _, _ in known)
    parts.append(f'<path class="curve" d="M{line}"/>')
    for t, v, _, _ in known:
        parts.append(f'<circle class="dot" cx="{x(t):.1f}" cy="{y(v):.1f}" r="4.5"/>')
        parts.append(_text(x(t), bottom + 20, f"{t:g} °C", "tick", "middle"))
        parts.append(_text(x(t), y(v) - 10, figure(v, 2), "value", "middle"))
    told = "; ".join(f"{t:g} degC {figure(v, 2)}" for t, v, _, _ in known)
    return _svg(width, height, f"Consistency in mPa.s: {told}", parts, "plot")


def bars(rows: list[tuple[str, float, str]], title: str, full: float = 100.0) -> Markup:
    """Return one bar a row: label, figure to draw, figure as words."""
    parts = []
    for n, (label, value, words) in enumerate(rows):
        y = n * 34.0
        wide = max(0.0, min(value / full, 1.0)) * _WIDTH
        parts.append(_text(0, y + 13, label, "label"))
        parts.append(_text(_WIDTH, y + 13, words, "value", "end"))
        parts.append(f'<rect class="rail" x="0" y="{y + 18:.1f}" width="{_WIDTH}" height="8"/>')
        parts.append(f'<rect class="bar" x="0" y="{y + 18:.1f}" width="{wide:.1f}" height="8"/>')
    told = "; ".join(f"{label} {words}" for label, _, words in rows)
    return _svg(_WIDTH, max(len(rows) * 34 - 6, 1), f"{title}: {told}", parts, "bars")


def strips(players: list[Tree], names: list[str], base: Snapshot) -> list[Tree]:
    """Return a strip for each trait with a tick for each player, to see where most lie."""
    found = []
    for name in names:
        values = [base.known(p["ingredient"], name) for p in players]
        known = sorted(v.value for v in values if v is not None and math.isfinite(v.value))
        if len(known) < 2 or known[0] == known[-1]:
            continue
        wide, scale = _is_wide(known[0], known[-1]), _scale(known)
        assert scale is not None
        parts = [f'<path class="grid" d="M6 24H{_WIDTH - 6}"/>']
        for v in known:
            at = 6 + (_WIDTH - 12) * scale(v)
            parts.append(f'<path class="tickline" d="M{at:.1f} 12V24"/>')
        unit = unit_word(base.records.units.get(name, ""))
        parts.append(_text(6, 40, figure(known[0]), "tick"))
        parts.append(_text(_WIDTH - 6, 40, figure(known[-1]), "tick", "end"))
        middle = known[len(known) // 2]
        title = f"{property_name(name)}{f', {unit}' if unit else ''}" + (" (log)" if wide else "")
        told = f"{title}: {figure(known[0])} to {figure(known[-1])}, middle {figure(middle)}"
        found.append(
            {"title": title, "picture": _svg(_WIDTH, 44, told, parts, "strip"), "known": len(known)}
        )
    return found


def scatter(players: list[Tree], names: list[str], base: Snapshot) -> Markup | None:
    """Return players as dots on the two traits that decide most; none with fewer than three."""
    points = []
    for player in players:
        x, y = (base.known(player["ingredient"], name) for name in names)
        if x is not None and y is not None and math.isfinite(x.value + y.value):
            points.append((player["inci"], x.value, y.value))
    scales = [_scale([p[n] for p in points]) for n in (1, 2)]
    if len(points) < 3 or any(scale is None for scale in scales):
        return None
    across, up = (scale for scale in scales if scale is not None)
    width, height = _PLOT
    left, right, top, bottom = 14.0, width - 14.0, 30.0, height - 44.0
    parts = [f'<path class="grid" d="M{left} {top}V{bottom}H{right}"/>']
    for inci, one, other in points:
        at = left + (right - left) * across(one), bottom - (bottom - top) * up(other)
        title = f"{inci}: {figure(one)}, {figure(other)}"
        parts.append(
            f"<g><title>{escape(title)}</title>"
            f'<circle class="dot faint" cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="5"/></g>'
        )
    ends = [(min(p[n] for p in points), max(p[n] for p in points)) for n in (1, 2)]
    labels = [_axis(name, end, base) for name, end in zip(names, ends, strict=True)]
    parts.append(_text(left, 16, f"↑ {labels[1]}", "tick"))
    parts.append(_text(left, height - 26, figure(ends[0][0]), "tick"))
    parts.append(_text(right, height - 26, figure(ends[0][1]), "tick", "end"))
    parts.append(_text(right, height - 8, f"{labels[0]} →", "tick", "end"))
    told = f"{len(points)} players: {labels[0]}, {labels[1]}"
    return _svg(width, height, told, parts, "plot")


def _axis(name: str, ends: tuple[float, float], base: Snapshot) -> str:
    unit = unit_word(base.records.units.get(name, ""))
    wide = " (log)" if _is_wide(*ends) else ""
    return f"{property_name(name)}, {figure(ends[0])} to {figure(ends[1])} {unit}".strip() + wide


def _is_wide(low: float, high: float) -> bool:
    """Tell whether values want a logarithmic scale."""
    return low > 0 and high / low > 50


def _scale(values: list[float]) -> Callable[[float], float] | None:
    """Return where on an axis from 0 to 1 a value lies; nothing when all are the same."""
    if not values or min(values) == max(values):
        return None
    low, high = min(values), max(values)
    if _is_wide(low, high):
        return lambda v: math.log(v / low) / math.log(high / low)
    return lambda v: (v - low) / (high - low)
