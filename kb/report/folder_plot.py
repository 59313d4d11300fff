"""The picture of an outlook: how many formulas each raw material would stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kb.report.plots import BAR_IN, GROUND, INK, drawing, legend, short
from kb.report.tree import Tree
from kb.report.words import titled

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Materials shown; the others stop fewer formulas.
MOST_BARS = 24
_STOPS, _GOES_ON = ("#b34700", "///"), ("#7fb8de", "")


def outlook_figure(tree: Tree, title: str) -> Figure:
    """Return the picture of ``kb outlook``.

    A bar for each material: hatched the formulas it would stop, plain those that go on with a good
    stand-in.

    Parameters
    ----------
    tree : dict
        Tree of ``kb outlook``.
    title : str
    """
    rows = tree["materials"][:MOST_BARS]
    names = [short(titled(row)) for row in rows]
    high = 0.15 + BAR_IN * max(len(rows), 2)
    longest = max(map(len, names), default=0)
    more = len(tree["materials"]) - len(rows)
    foot = f"{more} more materials stop no more than these" if more else ""
    with drawing(title, [(high, 1)], longest, foot) as (figure, (axes,)):
        axes.set_facecolor(GROUND)
        axes.set_title("If one raw material fails", loc="left", fontsize=10, fontweight="bold")
        stops = [row["stops"] for row in rows]
        goes_on = [row["formulas"] - row["stops"] for row in rows]
        for values, left, (colour, hatch), label in (
            (stops, [0] * len(rows), _STOPS, "stopped"),
            (goes_on, stops, _GOES_ON, "go on"),
        ):
            axes.barh(
                range(len(rows)),
                values,
                left=left,
                height=0.72,
                color=colour,
                edgecolor=INK,
                hatch=hatch or None,
                linewidth=0.6,
                label=label,
            )
        for n, row in enumerate(rows):
            axes.text(
                row["formulas"],
                n,
                f" {row['stops']} of {row['formulas']}",
                va="center",
                ha="left",
                fontsize=8,
            )
        axes.set_yticks(range(len(rows)), names, fontsize=8)
        axes.set_ylim(max(len(rows), 2) - 0.4, -0.6)
        axes.set_xlim(0.0, 1.2 * max((row["formulas"] for row in rows), default=1))
        axes.set_xlabel("formulas that hold it")
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        legend(axes, ["stopped", "go on"])
    return figure
