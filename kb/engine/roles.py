"""Which roles a material plays here, and with what share of its work."""

from __future__ import annotations

from dataclasses import dataclass

from kb.engine.batch import Batch, Item, stage_kind
from kb.engine.profile import Profile
from kb.store.records import Play
from kb.store.snapshot import Snapshot

_LEAST_SHARE = 0.05
#: Powder from which a cream or balm counts as a paste, %.
_PASTE = 15.0
#: Powder from which there is something to keep up, %.
SINKS = 0.5


@dataclass(frozen=True, slots=True)
class Here:
    """One role in this formula with its share of what the line does."""

    role: str
    share: float


def roles_here(item: Item, profile: Profile, base: Snapshot) -> tuple[Here, ...]:
    """Return the roles a line plays in this formula, largest share first; shares sum to 1.

    The role stated in the file counts alone. Else each role the material can play is weighed by
    how well it plays it, how its level fits, and whether this company leaves room for it.
    """
    stated = _stated(item.role, base)
    if stated:
        return (Here(stated, 1.0),)
    weights: dict[str, float] = {}
    item = item.at(profile.batch.holds(item.material))
    for play in base.plays(item.material):
        weight = play.strength * _level_fit(item.percent, play) * _room(item, play, profile, base)
        # Squared: what a material does well here is why it was chosen.
        weights[play.role] = max(weights.get(play.role, 0.0), weight**2)
    total = sum(weights.values())
    if total <= 0.0:
        plays = base.plays(item.material)
        if not plays:
            return ()
        weights = {play.role: play.strength for play in plays}
        total = sum(weights.values()) or 1.0
    ranked = sorted(weights.items(), key=lambda pair: (-pair[1], pair[0]))
    kept = [(role, w / total) for role, w in ranked if w / total >= _LEAST_SHARE][:6]
    whole = sum(w for _, w in kept)
    return tuple(Here(role, w / whole) for role, w in kept)


def _stated(role: str, base: Snapshot) -> str:
    if not role:
        return ""
    word = role.strip().casefold()
    if word.replace(" ", "-") in base.roles:
        return word.replace(" ", "-")
    return next((r.id for r in base.roles.values() if r.label.casefold() == word), "")


def _level_fit(percent: float, play: Play) -> float:
    """Return 1 inside the usual level, falling off outside it."""
    if play.low is not None and play.low > 0 and percent < play.low:
        return max(0.1, percent / play.low)
    if play.high is not None and play.high > 0 and percent > play.high:
        return max(0.1, play.high / percent)
    return 1.0


def _room(item: Item, play: Play, profile: Profile, base: Snapshot) -> float:
    """Return how much room this company and this system leave for a role."""
    role = base.roles[play.role]
    above = role.ancestors
    system = profile.system
    batch = profile.batch
    others = [i for i in batch.items if i.material != item.material]
    if "soap-acid" in above:
        return 4.0 if profile.species.alkali_mol > 1e-5 else 0.0
    if "soap-alkali" in above:
        soap = profile.species.soap
        return 4.0 if soap is not None else (0.3 if profile.species.acid_mol > 0 else 0.0)
    if "polymer-neutraliser" in above:
        return 4.0 if _any(others, "acrylic-thickener", base) else 0.05
    if "emulsifier" in above:
        return _emulsifier_room(item, above, profile, base)
    if "low-hlb-partner" in above or play.role == "co-emulsifier":
        return 1.5 if system == "o/w" and _any(others, "ow-emulsifier", base) else 0.15
    if "gel-network-alcohol" in above:
        return 1.5 if system == "o/w" else 0.0
    if play.role == "solid-fatty-alcohol":
        return 0.2 if system == "o/w" else 1.0
    if "wo-electrolyte" in above:
        return 1.5 if system == "w/o" else 0.1
    if "thickening-salt" in above:
        return 0.2 if system == "w/o" else 1.0
    if "water-phase-part" in above and profile.phases.water_mass < 1.0:
        return 0.3
    if "mineral-uv-filter" in above:
        return _uv_room(item, others, batch, base)
    if "white-pigment" in above:
        return 1.0 if _any(others, "colour-pigment", base) or system == "powder" else 0.5
    if "pigment-wetting-oil" in above:
        return 3.0 if _any(others, "pigment", base) and item.percent >= 5 else 0.15
    if "coupling-oil" in above or play.role == "solvent":
        return 0.3
    if "suspending-agent" in above:
        # Where nothing sinks or creams there is nothing to hold up.
        if profile.phases.powder_mass >= SINKS:
            return 1.5
        return 0.6 if profile.phases.oil_mass >= 3.0 else 0.2
    if "dispersant" in above:
        return 1.5 if profile.phases.powder_mass > 3 and item.percent <= 2 else 0.3
    if "glycol-preservative" in above:
        return _glycol_room(item, others, profile, base)
    if "preservative-booster" in above:
        return 1.0 if _any(others, "preservative", base) else 0.6
    if "declared-protectant" in above:
        return 3.0 if item.active else 0.1
    if "oil-phase-structurant" in above and base.materials[item.material].form == "liquid":
        return 0.3
    if play.role == "absorbent-filler":
        # A little in a cream or oil is there for the feel; much of it takes up what is wet.
        paste = profile.phases.powder_mass >= _PASTE
        return 1.0 if paste or system == "powder" else 0.6
    if "opacifying-soap" in above or "powder-binder" in above or "slip-filler" in above:
        return 1.5 if system == "powder" else 0.3
    if "metal-soap-thickener" in above:
        return 0.2 if system == "powder" else 1.5
    if "wax" in above:
        return _wax_room(item, above, others, profile, base)
    if play.role == "oil-phase-liquid":
        return _bulk_room(item, profile)
    if "keratolytic-active" in above or "active" in above:
        return 0.7 if item.active is None else (2.0 if item.active else 0.3)
    return 1.0


def _emulsifier_room(item: Item, above: frozenset[str], profile: Profile, base: Snapshot) -> float:
    if profile.phases.water_mass < 3.0:
        powder = profile.phases.powder_mass > 3.0 and item.percent <= 2.0
        if powder and base.does(item.material, "dispersant") >= 0.4:
            return 0.05  # a little of it beside powder is there to wet the powder
        # In a dry base it can only be there to take up water later, if it is best at that.
        strongest = max(p.strength for p in base.plays(item.material))
        return 1.0 if base.does(item.material, "emulsifier") >= strongest else 0.05
    system = profile.system
    right = ("wo-emulsifier" in above) == (system == "w/o") and system in {"w/o", "o/w"}
    if not right:
        return 0.02
    real = [
        e
        for e in profile.emulsifiers
        if e.material != item.material and e.water_loving == (system == "o/w")
    ]
    structural = base.does(item.material, "wax") or base.does(item.material, "butter")
    if structural and sum(e.percent for e in real) >= 1.0:
        return 0.5
    return 2.0


def _uv_room(item: Item, others: list[Item], batch: Batch, base: Snapshot) -> float:
    claims = " ".join(str(v) for v in batch.product.values()).casefold() + batch.name.casefold()
    if item.active and "protectant" not in claims:
        return 2.0
    if _any(others, "organic-uv-filter", base) or any(w in claims for w in ("uv", "sun", "spf")):
        return 4.0
    return 0.15


def _glycol_room(item: Item, others: list[Item], profile: Profile, base: Snapshot) -> float:
    share = 100.0 * item.percent / max(profile.phases.water_mass, 1.0)
    real = [
        i
        for i in others
        if any(
            "preservative" in base.roles[p.role].ancestors
            and "glycol-preservative" not in base.roles[p.role].ancestors
            for p in base.plays(i.material)
        )
    ]
    if share >= 12.0 and not real:
        return 6.0
    return 0.1


def _bulk_room(item: Item, profile: Profile) -> float:
    """The larger its share of the oil phase, the more a liquid is simply the bulk."""
    share = item.percent / max(profile.phases.oil_mass, 1.0)
    return min(3.0, 0.3 + 4.0 * share)


def _wax_room(
    item: Item, above: frozenset[str], others: list[Item], profile: Profile, base: Snapshot
) -> float:
    """A wax hardens a stick, toughens a balm or gels an oil, by how much wax there is in all."""
    oil = max(profile.phases.oil_mass, 1.0)
    waxes = [i for i in others if base.does(i.material, "wax") >= 0.5]
    in_all = 100.0 * (item.percent + sum(i.percent for i in waxes)) / oil
    if "wax-hardener" in above:
        return 1.5 if any(i.percent >= item.percent for i in waxes) else 0.1
    if "wax-gellant" in above:
        return 2.0 if in_all <= 8.0 else 0.3
    if profile.system != "anhydrous":
        return {True: 0.4, False: 1.0}["hard-wax" in above or "toughening-wax" in above]
    if "hard-wax" in above:
        return 1.5 if in_all >= 12.0 else 0.3
    if "toughening-wax" in above:
        return 1.5 if waxes and in_all >= 12.0 else 0.4
    if "balm-wax" in above:
        return 1.2 if in_all >= 8.0 else 0.6
    return 1.0


def _any(items: list[Item], role: str, base: Snapshot) -> bool:
    return any(base.does(i.material, role) >= 0.4 for i in items)


def is_hot(item: Item) -> bool:
    """Tell whether a line goes in while the phases are hot."""
    return stage_kind(item.stage) in {"oil", "water"}
