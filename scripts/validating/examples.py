"""Printed examples of arithmetic: rounding of what is printed is carried through."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product

from kb.science import hlb, origin, preservation, settling

from .row import Row, arithmetic, read


def half_digit(text: str) -> float:
    """Return half a unit of the last digit shown.

    Examples
    --------
    >>> half_digit("12.1"), half_digit("7")
    (0.05, 0.5)
    """
    return 0.5 * 10.0 ** -(len(text.split(".")[1]) if "." in text else 0)


def spread(
    call: Callable[[Sequence[float]], float], texts: Sequence[str], exact: bool = False
) -> tuple[float, float, float]:
    """Return value, least and greatest when each input may be off by half its last digit."""
    values = [float(t) for t in texts]
    centre = call(values)
    if exact:
        return centre, centre, centre
    ends = [(v - half_digit(t), v + half_digit(t)) for v, t in zip(values, texts, strict=True)]
    found = [call(corner) for corner in product(*ends)]
    return centre, min(found), max(found)


def fits(found: tuple[float, float, float], printed: str, scale: float = 1.0) -> bool:
    """Tell whether a printed value can be meant."""
    _, low, high = found
    half = half_digit(printed) + 1e-9
    return low * scale - half <= float(printed) <= high * scale + half


def rows() -> Iterator[Row]:
    """Yield all rows of arithmetic."""
    yield _hlb()
    yield _undissociated()
    yield _in_water()
    yield _stokes()
    yield _origin()


def _hlb_of(r: dict[str, str]) -> tuple[tuple[float, float, float], float]:
    inputs, kind = r["inputs"].split(";"), r["kind"]
    if kind == "blend":
        values, n = r["values"].split(";"), len(inputs)
        found = spread(lambda x: float(hlb.blend_hlb(x[:n], x[n:])), [*inputs, *values], exact=True)
        return found, 1.0
    if kind == "share":
        return spread(lambda x: float(hlb.emulsifier_share(*x)), inputs, exact=True), 100.0
    if kind == "saponification":
        return spread(lambda x: float(hlb.from_saponification(*x)), inputs), 1.0
    if kind == "ethylene oxide":
        units = float(inputs[0])
        chain = 44.05 * units

        def call(x: Sequence[float]) -> float:
            return float(hlb.griffin(chain, chain + x[0]))

        return spread(call, inputs[1:]), 1.0
    groups = [float(x) for x in inputs]
    counts = [1.0] * len(groups) + [float(r["values"])]
    return spread(lambda _: float(hlb.davies([*groups, -0.475], counts)), ["0"], exact=True), 1.0


def _hlb() -> Row:
    data = read("hlb_examples")
    lines, right = [], 0
    for r in data:
        found, scale = _hlb_of(r)
        good = fits(found, r["printed"], scale)
        right += good
        if not good:
            why = (
                r["note"].removeprefix("MISPRINT: ").removeprefix("TABLE VALUE: ")
                or "no reason found"
            )
            lines.append(f"{r['subject']}: printed {r['printed']}, {scale * found[0]:.2f}; {why}")
    return arithmetic("hlb/examples", "printed HLB examples", right, len(data), lines)


def _undissociated() -> Row:
    pka = {r["acid"]: float(r["pka"]) for r in read("pka")}
    data, lines, right = read("undissociated"), [], 0
    for r in data:
        found = [
            100.0 * float(preservation.undissociated_fraction(float(r["ph"]), pka[r["acid"]] + d))
            for d in (0.0, -0.05, 0.05)
        ]
        good = fits((found[0], min(found), max(found)), r["printed"])
        right += good
        if not good:
            lines.append(f"{r['acid']} at pH {r['ph']}: printed {r['printed']}, {found[0]:.2g} %")
    return arithmetic("preservation/dissociation", "undissociated share", right, len(data), lines)


def _in_water() -> Row:
    """Concentration in the water: total in both phases over what the two hold."""
    data, lines, right = read("preservative_in_water"), [], 0
    for r in data:
        ratio = float(r["oil_per_water"])
        water = 1.0 / (1.0 + ratio)
        whole = float(r["overall"])

        def call(x: Sequence[float], water: float = water, whole: float = whole) -> float:
            return float(preservation.free_in_water(whole, water, 1.0 - water, x[0], 1.0, 1.0))

        found = spread(call, [r["partition"]])
        good = fits(found, r["printed"])
        right += good
        if not good:
            lines.append(
                f"{r['preservative']}, {r['oil']}, oil to water {r['oil_per_water']}: printed "
                f"{r['printed']}, {found[0]:.3g}"
            )
    what = "preservative in the water, from a stated partition"
    return arithmetic("preservation/in-water", what, right, len(data), lines)


def _stokes() -> Row:
    data, lines, right = read("stokes"), [], 0
    for r in data:
        value = float(
            settling.stokes(*(float(r[n]) for n in ("size_um", "density", "fluid", "eta")))
        )
        good = fits((value, value, value), r["printed"])
        right += good
        if not good:
            lines.append(f"{r['size_um']} um: printed {r['printed']}, {value:.3g}")
    return arithmetic("settling/stokes", "Stokes speed", right, len(data), lines)


def _origin() -> Row:
    data, right = read("natural_origin"), 0
    for r in data:
        shares = [float(x) for x in r["shares"].split(";")]
        value = float(
            origin.natural_origin_content(shares, [float(x) for x in r["indices"].split(";")])
        )
        right += fits((value / 100.0 if value > 1.0 else value,) * 3, r["index"])
    return arithmetic("natural-origin/examples", "natural origin of a mixture", right, len(data))
