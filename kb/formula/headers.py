"""Column headings and row labels of exported sheets, in five languages."""

from __future__ import annotations

import re

from kb.formula.names import normalise

_NAMES = (
    *("ingredient", "ingredients", "name", "material", "raw material", "component", "substance"),
    *("rohstoff", "rohstoffe", "inhaltsstoff", "inhaltsstoffe", "zutat", "zutaten", "bestandteil"),
    *("stoff", "bezeichnung", "matiere premiere", "matieres premieres", "matiere", "composant"),
    *("ingredientes", "ingrediente", "ingredienti", "materia prima", "materias primas", "nombre"),
    *("nom", "nome", "componente", "componenti", "sustancia", "sostanza", "denominazione"),
    *("designation", "denominacion", "material name", "ingredient name"),
)
_PERCENTS = (
    *("percent", "percentage", "pct", "prozent", "prozentanteil", "gewichtsprozent", "pourcentage"),
    *("porcentaje", "percentuale", "wt", "w w", "m m", "p p", "gew", "massenanteil"),
)
_AMOUNTS = (
    *("amount", "quantity", "qty", "share", "level", "dose", "dosage", "concentration"),
    *("anteil", "menge", "gehalt", "einsatz", "einsatzmenge", "konzentration", "dosierung"),
    *("quantite", "taux", "teneur", "dosage", "concentration", "part en masse"),
    *("cantidad", "proporcion", "contenido", "concentracion", "dosis"),
    *("quantita", "dose", "dosaggio", "concentrazione", "quota"),
)
_GRAMS = (
    *("g", "gr", "gram", "grams", "gramm", "grammes", "gramos", "grammi", "weight", "mass"),
    *("gewicht", "masse", "einwaage", "poids", "peso", "masa", "massa", "kg"),
)
#: What a heading may say, by kind of column.
HEADERS: dict[str, tuple[str, ...]] = {
    "inci": ("inci", "inci name", "nom inci", "nome inci", "nombre inci", "inci bezeichnung"),
    "name": _NAMES,
    "percent": _PERCENTS,
    "amount": _AMOUNTS,
    "grams": _GRAMS,
    "unit": ("unit", "units", "einheit", "unite", "unidad", "unita", "uom"),
    "stage": ("phase", "stage", "part", "step", "teil", "phasen", "etape", "fase", "etapa"),
    "role": (
        *("role", "function", "funktion", "fonction", "funcion", "funzione", "rolle"),
        *("purpose", "zweck", "aufgabe", "rol", "ruolo"),
    ),
    "active": ("active", "wirkstoff", "actif", "activo", "attivo", "declared active"),
    "locked": ("locked", "keep", "fest", "fix", "bloque", "bloqueado", "bloccato"),
}
#: A heading with one of these words is about something else.
_OTHER_WORDS = (
    "cost costs price supplier code id no nr number numero cas einecs ec lot batch kosten preis "
    "lieferant hersteller artikel bestell prix cout fournisseur lote precio costo proveedor prezzo "
    "fornitore codice remark remarks note notes comment comments min max stock date datum"
)
_TOTAL_WORDS = (
    "total totals sum summe gesamt insgesamt gesamtsumme gesamtmenge somme suma totale somma"
)
_FILL_WORDS = "grand general generale in percent prozent % g gr kg mass weight 100"
_SUBTOTALS = ("subtotal", "sub total", "zwischensumme", "sous total", "subtotale", "parcial")
_PHASES = ("phase", "phasen", "fase", "teil", "part", "partie", "parte")
_KINDS_OF_PHASE = (
    "oil water fat powder aqueous oily aqueuse huileuse grasse acuosa oleosa grasa acquosa"
)
_OTHER = frozenset(_OTHER_WORDS.split())
TOTALS = frozenset(_TOTAL_WORDS.split())
_TOTAL_FILL = frozenset(_FILL_WORDS.split())
YES = frozenset({"yes", "y", "true", "1", "x", "ja", "oui", "si", "wahr", "vrai", "vero"})

NO = frozenset({"no", "n", "false", "0", "nein", "non", "falsch", "faux", "falso"})


def header_kind(cell: str) -> str:
    """Return what kind of column a heading names, or nothing.

    Examples
    --------
    >>> header_kind("Menge (g)"), header_kind("Gew.-%"), header_kind("Rohstoff"), header_kind("CAS")
    ('grams', 'percent', 'name', '')
    """
    word = cell.casefold().strip()
    key = normalise(re.sub(r"[%()\[\]]", " ", word))
    if not word or re.match(r"[-+]?[\d.,]", word):
        return ""
    if set(key.split()) & _OTHER:
        return ""
    if "%" in word:
        return "percent"
    in_grams = re.search(r"[(\[]\s*(g|gr|kg|grams?|gramm)\s*[)\]]|\b(in|en)\s+k?g\b", word)
    bare = re.sub(r"[(\[].*", "", word)
    for text in (key, normalise(bare)):
        for kind, words in HEADERS.items():
            if text in words:
                return "grams" if in_grams and kind in {"amount", "grams"} else kind
    for kind in ("role", "stage", "unit"):
        if set(key.split()) & set(HEADERS[kind]):
            return kind
    for kind, words in HEADERS.items():
        if any(len(w) > 3 and key.startswith(f"{w} ") for w in words):
            return "grams" if in_grams and kind in {"amount", "grams"} else kind
    return ""


def is_kilograms(cell: str) -> bool:
    """Tell whether a heading says that its masses are in kilograms."""
    return re.search(r"\bkg\b", cell.casefold()) is not None


def total_kind(name: str) -> str:
    """Return ``total``, ``subtotal`` or nothing for the label of a row.

    Examples
    --------
    >>> total_kind("Gesamt:"), total_kind("Total phase A"), total_kind("Sodium Sulfate")
    ('total', 'subtotal', '')
    """
    key = normalise(name)
    words = key.split()
    if key.startswith(_SUBTOTALS):
        return "subtotal"
    if not words or not set(words[:2]) & TOTALS or not set(words[:1]) & (TOTALS | _TOTAL_FILL):
        return "total" if name.strip(" :") == "Σ" else ""
    return "total" if set(words) <= TOTALS | _TOTAL_FILL else "subtotal"


def is_heading(name: str) -> bool:
    """Tell whether a row without an amount opens a phase."""
    words = normalise(name).split()
    if name.strip().endswith(":") or re.fullmatch(r"[a-z]|[0-9]{1,2}|i{1,3}|iv|v", " ".join(words)):
        return True
    return any(w in _PHASES[:3] or w.endswith("phase") for w in words) or (
        bool(words) and words[0] in _PHASES and len(words) <= 4
    )


def is_phase_sum(name: str) -> bool:
    """Tell whether a row with an amount is a phase with its subtotal, not an ingredient."""
    key = normalise(name)
    kinds = _KINDS_OF_PHASE.replace(" ", "|")
    return bool(
        re.fullmatch(rf"(phase|fase|teil|part|partie|parte) ([a-z]|\d{{1,2}}|{kinds})", key)
        or re.fullmatch(rf"(({kinds}) )?(phase|fase)", key)
        or re.fullmatch(r"(wasser|fett|ol|oel|pulver|wirkstoff)phase", key)
    )
