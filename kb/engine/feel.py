"""Feel as attributes from named drivers, ordinal 1 to 5; silent where nothing is known."""

from __future__ import annotations

import math

from kb.engine.batch import Phases
from kb.engine.oilphase import OilPhase, OilState
from kb.engine.quantity import Quantity
from kb.store.snapshot import Snapshot

ATTRIBUTES = ("initial_slip", "drag", "tack", "residue", "absorption", "gloss")


def feel(phases: Phases, state: OilState | None, oil: OilPhase, base: Snapshot) -> Quantity:
    """Return the feel of a batch as attributes with what drives each.

    Spreading and viscosity of the liquids drive slip and residue (Parente 2005); crystals drive
    drag, sticky fats and sugars tack, refractive index gloss, powders absorption.
    """
    if state is None or oil.empty:
        return Quantity("feel", None, "1 to 5", "feel", ["no oil phase"], {})
    eta = float(state.viscosity[0])
    solids = float(state.solids[0])
    known, spread = 0.0, 0.0
    index_known, index = 0.0, 0.0
    for share in phases.oil:
        value = base.value(share.material, "spreading_value")
        if value == value:
            known, spread = known + share.percent, spread + share.percent * value
        refraction = base.value(share.material, "refractive_index")
        if refraction == refraction:
            index_known += share.percent
            index += share.percent * refraction
    sticky = sum(
        s.percent
        for s in phases.oil
        if base.does(s.material, "sticky-fat") >= 0.5 or base.does(s.material, "heavy-ester") >= 0.5
    )
    sugars = sum(s.percent for s in phases.water if base.does(s.material, "sugar-humectant") >= 0.5)
    glycerin = sum(s.percent for s in phases.water if s.material.startswith("glycerin"))
    volatile = sum(
        s.percent for s in phases.oil if base.does(s.material, "volatile-carrier") >= 0.5
    )
    dry = phases.powder_mass / max(phases.oil_mass, 1.0)
    slip = (
        spread / known / 200.0 if known > 0.3 * phases.oil_mass else 5.0 - math.log10(eta + 1) * 1.7
    )
    detail: dict[str, object] = {
        "initial_slip": _ordinal(slip, f"liquid of {eta:.3g} mPa.s"),
        "drag": _ordinal(1.0 + 40.0 * solids / 10.0 + 4.0 * dry, f"{100 * solids:.2g} % crystals"),
        "tack": _ordinal(
            1.0 + sticky / 6.0 + sugars / 3.0 + glycerin / 8.0, "sticky fats, glycerin, sugars"
        ),
        "residue": _ordinal(
            1.0 + math.log10(eta + 1) * 1.2 + phases.oil_mass / 40.0 - volatile / 10.0,
            "thick and non-volatile oils",
        ),
        "absorption": _ordinal(
            5.0 - math.log10(eta + 1) - phases.oil_mass / 40.0 + volatile / 15.0, "thin, little oil"
        ),
    }
    if index_known > 0.5 * phases.oil_mass:
        gloss = 1.0 + (index / index_known - 1.42) * 60.0 - 3.0 * dry
        detail["gloss"] = _ordinal(gloss, "refractive index of the oils, powder")
    return Quantity("feel", None, "1 to 5", "feel", ["ordinal; compare, do not add"], detail)


def _ordinal(score: float, driver: str) -> dict[str, object]:
    return {"value": round(min(max(score, 1.0), 5.0), 1), "driver": driver}
