"""Trees and table rows of what was asked of a whole folder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kb.folder.asking import Answer
from kb.folder.cover import Cover
from kb.folder.event import Hit, Outcome
from kb.folder.outlook import Hold, Outlook
from kb.report.paper import plain
from kb.report.tree import Tree, naming
from kb.store.snapshot import Snapshot

#: Stand-ins and reasons that a tree names for one material.
_NAMED = 5
#: Columns of the table that ``-o`` writes, one row a line of a formula.
COLUMNS: dict[str, type] = {
    "file": str,
    "name": str,
    "system": str,
    "error": str,
    "line": int,
    "material": str,
    "percent": float,
    "role": str,
    "good": int,
    "stand_in": str,
    "worth": float,
    "stand_in_percent": float,
    "test_days": int,
    "rule": str,
    "reason": str,
}


def rows_of(answers: Sequence[Answer]) -> list[dict[str, Any]]:
    """Return the answers as rows, one a line; a broken file is a row with its error."""
    rows: list[dict[str, Any]] = []
    for answer in answers:
        about = {k: answer[k] or None for k in ("file", "name", "system")}
        if answer["error"] is not None:
            rows.append({**about, "error": answer["error"]["message"]})
        for line in answer["lines"]:
            best = line["stand_ins"][0] if line["stand_ins"] else (None, None, None, None)
            rows.append(
                {
                    **about,
                    "line": line["number"],
                    "material": line["material"],
                    "percent": float(line["percent"]),
                    "role": line["role"],
                    "good": len(line["stand_ins"]),
                    **dict(
                        zip(
                            ("stand_in", "worth", "stand_in_percent", "test_days"),
                            best,
                            strict=True,
                        )
                    ),
                    "rule": line["rule"] or None,
                    "reason": line["reason"] or None,
                }
            )
    return rows


def outlook_tree(
    folder: str, found: Outlook, good: float, policies: list[str], base: Snapshot
) -> Tree:
    """Return the tree of ``kb outlook``."""
    read = [a for a in found.answers if a["error"] is None]
    return {
        "folder": folder,
        "formulas": len(read),
        "lines": sum(len(a["lines"]) for a in read),
        "good_from": good,
        "policies": policies,
        "stopped": len({file for hold in found.reserve for file in hold.stopped}),
        "materials": [_hold(hold, base) for hold in found.holds],
        "stock": {
            "reserve": [
                {**naming(h.material, base), "stops": h.stops, "formulas": h.formulas}
                for h in found.reserve
            ],
            "at_hand": [
                {**naming(m, base), "lines": found.serves[m]}
                for m in sorted(found.serves, key=lambda m: (-found.serves[m], m))
            ],
            "proof": _proof(found.at_hand),
            "lines_served": found.eased,
            "lines_served_from_folder": found.in_folder,
        },
        **_unread(found.answers),
    }


def _hold(hold: Hold, base: Snapshot) -> Tree:
    return {
        **naming(hold.material, base),
        "formulas": hold.formulas,
        "lines": hold.lines,
        "stops": hold.stops,
        "stopped": hold.stopped,
        "because": [
            {"rule": rule, "text": plain(text), "lines": number}
            for (rule, text), number in _most(hold.whys)
        ],
        "nearest": [naming(m, base) for m, _ in _most(hold.nearest)[:1]],
        "stand_ins": [{**naming(m, base), "lines": n} for m, n in _most(hold.stand_ins)],
    }


def _most(counts: Any) -> list[tuple[Any, int]]:
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))[:_NAMED]


def _proof(cover: Cover) -> Tree:
    return {"count": len(cover.chosen), "bound": cover.bound, "proven": cover.proven}


def _unread(answers: Sequence[Answer]) -> Tree:
    return {
        "broken": [
            {"file": a["file"], **{k: a["error"][k] for k in ("message", "where", "fix")}}
            for a in answers
            if a["error"] is not None
        ],
        "unknown": [
            {"file": a["file"], "given": a["unknown"]}
            for a in answers
            if a["error"] is None and a["unknown"]
        ],
    }


def event_tree(folder: str, found: Outcome, good: float, base: Snapshot) -> Tree:
    """Return the tree of ``kb event``."""
    event = found.event
    return {
        "folder": folder,
        "event": {
            "kind": event.kind,
            **naming(event.material, base),
            "from": event.day.isoformat(),
            "today": event.today.isoformat(),
            "left_kg": event.left_kg,
            "limit_percent": event.figure if event.kind == "limit" else None,
            "price": event.figure if event.kind == "price" else None,
            "price_before": event.was,
        },
        "formulas": sum(1 for a in found.answers if a["error"] is None),
        "good_from": good,
        "run_out": found.run_out.isoformat() if found.run_out else None,
        "hits": [_hit(hit, found, base) for hit in found.hits],
        "mend": {
            "new": [
                {**naming(name, base), "serves": found.serves[name]} for name in found.cover.chosen
            ],
            "proof": _proof(found.cover),
            "lines_served_from_folder": found.from_folder,
            "open": [hit.file for hit in found.open],
        },
        **_unread(found.answers),
    }


def _hit(hit: Hit, found: Outcome, base: Snapshot) -> Tree:
    answer = "lower" if hit.stays else "replace" if hit.mended else "open"
    return {
        "file": hit.file,
        "name": hit.name,
        "percent": hit.percent,
        "kg_a_month": hit.kg_a_month,
        "batches_left": hit.last.batches,
        "last_make": hit.last.day.isoformat() if hit.last.day else None,
        "test_days": hit.days,
        "begin_by": hit.begin.isoformat() if hit.begin else None,
        "late_days": hit.late,
        "extra_a_month": hit.costs_a_month,
        "answer": answer,
        "lines": [
            {
                "line": line["number"],
                "percent": line["percent"],
                "role": line["role"],
                "lowered": None
                if line["lowered"] is None
                else {k: line["lowered"][k] for k in ("percent", "enough", "reason")},
                "use": _stand_in(found.use(line), base),
                "stand_ins": [_stand_in(s, base) for s in line["stand_ins"][:_NAMED]],
                "good": len(line["stand_ins"]),
                "because": {"rule": line["rule"], "text": plain(line["reason"])}
                if line["rule"]
                else None,
            }
            for line in hit.lines
        ],
    }


def _stand_in(found: list[Any] | None, base: Snapshot) -> Tree | None:
    if found is None:
        return None
    material, worth, percent, days = found
    return {**naming(material, base), "worth": worth, "percent": percent, "test_days": days}
