"""Legal limits, and whether they bind here."""

from __future__ import annotations

from kb.engine.batch import Batch, Item, take_apart
from kb.engine.findings.finding import Finding, added_up, label
from kb.engine.profile import Profile
from kb.engine.roles import roles_here
from kb.store.records import Limit
from kb.store.snapshot import Snapshot


def applies(limit_applies: str, item: Item, batch: Batch, role: str) -> bool | None:
    """Tell whether a legal limit applies here; none when the file does not say."""
    leave_on = batch.product.get("leave_on")
    if limit_applies == "all":
        return True
    if limit_applies in {"leave-on", "rinse-off"}:
        if not isinstance(leave_on, bool):
            return None
        return leave_on == (limit_applies == "leave-on")
    if limit_applies == "declared-active":
        return item.active is True
    if limit_applies == "uv-filter":
        return role in {"mineral-uv-filter", "organic-uv-filter"}
    if limit_applies == "under-3-years":
        return str(batch.product.get("age_group", "")).casefold() in {"infant", "baby", "under-3"}
    return False


def of_limits(profile: Profile, base: Snapshot) -> list[Finding]:
    """Say when a level is outside what the law allows."""
    found = []
    market = str(profile.batch.product.get("market", "")).casefold()
    for item, lines in _contents(profile.batch, base):
        leading = roles_here(item, profile, base)
        role = leading[0].role if leading else ""
        for limit in base.limits(item.material):
            if market and market != limit.jurisdiction:
                continue
            counts = applies(limit.applies, item, profile.batch, role)
            if counts is False:
                continue
            if not market:
                counts = None
            where = f"{limit.jurisdiction.upper()}, {limit.section}"
            evidence = f"read {limit.date_read}" if limit.date_read else limit.evidence
            source = f"{where} ({evidence})"
            name = label(item.material, base)
            doubt = "" if counts else _doubt(limit, market)
            measured = limit.unit_is_percent
            over = measured and limit.high is not None and item.percent > limit.high * 1.0001
            if limit.kind == "max" and over:
                found.append(
                    Finding(
                        "problem" if counts else "caution",
                        "legal-limit",
                        f"{name} {item.percent:.3g} % is above {limit.high:g} %"
                        f"{' ' + limit.basis if limit.basis else ''}{doubt}.",
                        lines,
                        source,
                    )
                )
            elif limit.kind == "active-range" and (
                over or (limit.low is not None and item.percent < limit.low)
            ):
                found.append(
                    Finding(
                        "problem",
                        "legal-limit",
                        f"{name} {item.percent:.3g} % as declared active lies outside "
                        f"{limit.low or 0:g} to {limit.high or 100:g} %.",
                        lines,
                        source,
                    )
                )
            elif limit.kind == "prohibited":
                found.append(
                    Finding(
                        "problem" if counts else "caution",
                        "legal-limit",
                        f"{name} is prohibited{doubt}{': ' + limit.note if limit.note else ''}.",
                        lines,
                        source,
                    )
                )
            elif limit.kind in {"caution", "label"} and _worth_saying(limit, counts, item, market):
                found.append(
                    Finding(
                        "note",
                        "label" if limit.kind == "label" else "legal-caution",
                        f"{name}: {limit.note or limit.basis or limit.section}",
                        lines,
                        source,
                    )
                )
    return found


def _contents(batch: Batch, base: Snapshot) -> list[tuple[Item, tuple[int, ...]]]:
    """Return what the law counts, with its lines: blends as such and, added up, their parts."""
    parts: list[Item] = []
    for item in batch.items:
        found = take_apart(item.material, item.percent, base)
        parts += [item.of(material, percent) for material, percent in found]
        if [material for material, _ in found] != [item.material]:
            parts.append(item)
    counted = batch.with_items(parts)
    return [
        (item, tuple(sorted({p.line for p in parts if p.material == item.material})))
        for item in added_up(counted)
    ]


def _doubt(limit: Limit, market: str) -> str:
    """Say on what it depends whether a limit binds."""
    where = "" if market else f" if sold in the {limit.jurisdiction.upper()}"
    what = "" if limit.applies == "all" else f" if {limit.applies}"
    return where + what


def _worth_saying(limit: Limit, counts: bool | None, item: Item, market: str) -> bool:
    """Cautions and labels are said when they surely apply and their threshold is passed."""
    if not counts or not market:
        return False
    return not (limit.low is not None and item.percent < limit.low)
