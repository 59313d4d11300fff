"""The pictures of check and swap, behind ``--plot``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kb.cli.output import check_target, tell, write_file

if TYPE_CHECKING:
    from kb.engine.answers import SwapResult
    from kb.engine.opening import Opened
    from kb.engine.profile import Profile
    from kb.store.snapshot import Snapshot


def check_plot(path: str, *, force: bool) -> None:
    """Raise before any work is done when a picture cannot be written there."""
    from kb.report.plots import check_format

    check_format(path)
    check_target(path, force=force)


def draw_check(path: str, opened: Opened, profile: Profile, base: Snapshot, *, force: bool) -> None:
    """Write the picture of a check."""
    from kb.engine.curves import curves
    from kb.report.plots import check_figure, rendered

    figure = check_figure(profile, curves(profile, base), base, opened.formula.name or "Formula")
    write_file(path, rendered(figure, path), force=force)
    tell(f"Wrote {path}.")


def draw_dose(
    path: str, opened: Opened, result: SwapResult, base: Snapshot, *, force: bool
) -> None:
    """Write the dose curve of the first answer; say so when there is none to draw."""
    from kb.engine.curves import dose_curve
    from kb.report.plots import dose_figure, rendered

    best = result.swaps[0]
    material = best.candidate.material
    found = dose_curve(result.before, result.index, material, result.here, best.trial, base)
    if found is None:
        tell(f"{path} was not written: this formula has no consistency and no cover to draw.")
        return
    old = base.materials[opened.batch.items[result.index].material].inci
    new = base.materials[material].inci
    title = f"{opened.formula.name or 'Formula'}: {new} instead of {old}"
    write_file(path, rendered(dose_figure(found, title), path), force=force)
    tell(f"Wrote {path}.")


def draw_swap(
    path: str, opened: Opened, result: SwapResult, base: Snapshot, *, force: bool
) -> None:
    """Write the picture of the first answer: before and after."""
    from kb.engine.curves import change, curves
    from kb.engine.profile import make_profile
    from kb.engine.swap import DRAWS
    from kb.report.plots import Side, rendered, swap_figure

    best = result.swaps[0]
    old = opened.batch.items[result.index]
    before = make_profile(opened.batch, base, DRAWS)
    after = best.after
    names = [base.materials[m].inci for m in (old.material, best.candidate.material)]
    levels = [old.percent, best.trial.percent]
    labels = [f"{name} {level:.3g} %" for name, level in zip(names, levels, strict=True)]
    sides = (
        Side(f"before: {labels[0]}", curves(before, base), before.phases),
        Side(f"after: {labels[1]}", curves(after, base), after.phases),
    )
    ratio = change(sides[0].curves, sides[1].curves)
    title = f"{opened.formula.name or 'Formula'}: {names[1]} instead of {names[0]}"
    figure = swap_figure(*sides, ratio, base, title)
    write_file(path, rendered(figure, path), force=force)
    tell(f"Wrote {path}.")
