"""What each seed file holds: columns, kinds, allowed words. One description for all readers."""

from __future__ import annotations

from dataclasses import dataclass

from kb.formula.model import SYSTEMS as SYSTEMS

EVIDENCE = ("published", "derived", "memory", "common practice")
#: What a user read on the sheet of the material in hand; we have not seen it, so it is no word of
#: the seed text.
DATA_SHEET = "data sheet"
ORIGINS = (
    "plant",
    "animal",
    "mineral",
    "petrochemical",
    "silicone",
    "fermentation",
    "synthetic",
    "nature-identical",
    "mixed",
    "unknown",
)
FORMS = ("liquid", "semisolid", "waxy", "powder", "crystalline", "solution", "gel")
CHARGES = ("nonionic", "anionic", "cationic", "amphoteric", "none")
PHASES = ("oil", "water", "powder", "either")
VERDICTS = ("works", "careful", "fails")
_TAG_WORDS = (
    "ethoxylated propoxylated silicone mineral-oil-derived animal palm-possible nano-possible "
    "volatile heat-sensitive polymer polyhydroxystearate polyricinoleate brings-water allergen "
    "soap acid alkali polyvalent-cation acrylate coated coloured oxidisable lamellar "
    "self-emulsifying blend formaldehyde-releaser paraben nut-allergen fatty-alcohol fatty-acid "
    "sterol glycol light-sensitive water-soluble oil-soluble insoluble silicone-polyether "
    "quaternary phenolic protein microbial-load borate strong-solvent uv-filter "
    "gelatinises"
)
TAGS = tuple(_TAG_WORDS.split())


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its kind, and what may stand in it."""

    name: str
    kind: str = "text"
    required: bool = False
    choices: tuple[str, ...] = ()
    refers_to: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of seed file; ``folder`` tables are split over several files of equal shape."""

    name: str
    path: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    folder: bool = False

    @property
    def header(self) -> list[str]:
        """Column names in order."""
        return [column.name for column in self.columns]


def _text(name: str, required: bool = False) -> Column:
    return Column(name, "text", required)


def _choice(name: str, choices: tuple[str, ...], required: bool = True) -> Column:
    return Column(name, "choice", required, choices)


def _number(
    name: str, low: float | None = None, high: float | None = None, required: bool = False
) -> Column:
    return Column(name, "number", required, (), "", low, high)


def _ref(name: str, table: str, required: bool = True) -> Column:
    return Column(name, "ref", required, (), table)


_SOURCED = (_ref("source", "sources", required=False), _choice("evidence", EVIDENCE))

TABLES: tuple[Table, ...] = (
    Table(
        "sources",
        "sources.csv",
        (
            Column("source", "id", True),
            _text("citation", True),
            _text("kind", True),
            _text("year"),
            _text("address"),
        ),
        ("source",),
    ),
    Table(
        "properties",
        "properties.csv",
        (
            Column("property", "id", True),
            _text("meaning", True),
            _text("unit", True),
            _number("low"),
            _number("high"),
            _text("combines", True),
            _choice("tolerance_kind", ("difference", "ratio")),
            _number("tolerance", 0, required=True),
        ),
        ("property",),
    ),
    Table(
        "methods",
        "methods.csv",
        (
            Column("method", "id", True),
            _text("quantity", True),
            _text("equation", True),
            _text("citation", True),
            _text("validity", True),
            _text("error", True),
        ),
        ("method",),
    ),
    Table(
        "roles",
        "roles.csv",
        (
            Column("role", "id", True),
            _ref("parent", "roles", required=False),
            _text("label", True),
            _text("definition", True),
            _text("loss_rule", True),
            _choice("kin", ("yes", "no")),
        ),
        ("role", "parent"),
    ),
    Table(
        "role_traits",
        "role_traits.csv",
        (
            _ref("role", "roles"),
            _ref("property", "properties"),
            _choice("kind", ("difference", "ratio", "at least", "at most", "undissociated")),
            _number("tolerance", 0, required=True),
            _number("weight", 0, 1, required=True),
            _choice("decisive", ("yes", "no")),
            _text("why", True),
        ),
        ("role", "property"),
    ),
    Table(
        "materials",
        "materials",
        (
            Column("material", "id", True),
            _text("inci", True),
            _text("grade"),
            Column("cas", "cas"),
            _choice("origin", ORIGINS),
            _choice("form", FORMS),
            _choice("charge", CHARGES),
            _choice("phase", PHASES),
            Column("tags", "words", False, TAGS),
            _text("note"),
        ),
        ("material",),
        folder=True,
    ),
    Table(
        "names",
        "names.csv",
        (
            _text("name", True),
            _ref("material", "materials"),
            _choice("language", ("en", "de", "fr", "es", "it", "la")),
            _choice(
                "kind",
                ("common", "inci-us", "inci-eu", "pharmacopoeia", "abbreviation", "foreign"),
            ),
        ),
        ("name", "material"),
    ),
    Table(
        "compositions",
        "compositions.csv",
        (
            _ref("material", "materials"),
            _text("part", True),
            _number("low", 0, 100),
            _number("high", 0, 100),
            _choice("purpose", ("main", "partner", "carrier", "coating", "stabiliser", "water")),
            *_SOURCED,
        ),
        ("material", "part"),
    ),
    Table(
        "plays",
        "plays",
        (
            _ref("material", "materials"),
            _ref("role", "roles"),
            _number("low", 0, 100),
            _number("high", 0, 100),
            _number("strength", 0, 1),
            *_SOURCED,
            _text("note"),
        ),
        ("material", "role"),
        folder=True,
    ),
    Table(
        "facts",
        "facts",
        (
            _ref("material", "materials"),
            _ref("property", "properties"),
            _number("value"),
            _number("low"),
            _number("high"),
            _text("unit", True),
            _number("temperature_c", -80, 300),
            _text("conditions", True),
            _ref("source", "sources", required=False),
            _text("place"),
            _choice("evidence", EVIDENCE),
            _text("note"),
        ),
        ("material", "temperature_c", "source", "value", "conditions"),
        folder=True,
    ),
    Table(
        "crystals",
        "crystals.csv",
        (
            _ref("material", "materials"),
            _text("component", True),
            _number("share", 0, 1, required=True),
            _number("molar_mass", 50, 5000, required=True),
            _number("melting_point", -50, 400, required=True),
            _number("fusion_enthalpy", 5, 500, required=True),
            _choice("association", ("plain", "dimer", "mixed")),
            _number("activity", 0.1, 20, required=True),
            *_SOURCED,
            _text("note"),
        ),
        ("material", "component"),
    ),
    Table(
        "structures",
        "structures.csv",
        (_ref("material", "materials"), _text("smiles", True), *_SOURCED),
        ("material",),
    ),
    Table(
        "fatty_acids",
        "fatty_acids.csv",
        (
            _ref("material", "materials"),
            _text("acid", True),
            _number("low", 0, 100, required=True),
            _number("high", 0, 100, required=True),
            *_SOURCED,
        ),
        ("material", "acid"),
    ),
    Table(
        "edges",
        "edges.csv",
        (
            Column("subject", "typed", True),
            Column("object", "typed", True),
            _choice("verdict", VERDICTS),
            _text("rule", True),
            _choice("system", SYSTEMS, required=False),
            _number("subject_min", 0, 100),
            _number("object_min", 0, 100),
            _number("ph_low", 0, 14),
            _number("ph_high", 0, 14),
            _text("mechanism", True),
            *_SOURCED,
        ),
        ("subject", "object", "system", "mechanism"),
    ),
    Table(
        "limits",
        "limits",
        (
            _ref("material", "materials"),
            _choice("jurisdiction", ("eu", "us")),
            _choice("kind", ("max", "active-range", "prohibited", "label", "caution")),
            _number("low", 0, 100),
            _number("high", 0, 100),
            _text("unit"),
            _choice(
                "applies",
                (
                    "all",
                    "leave-on",
                    "rinse-off",
                    "declared-active",
                    "uv-filter",
                    "under-3-years",
                    "spray",
                    "eye",
                    "mouth",
                ),
            ),
            _text("basis"),
            _text("section", True),
            _text("date_read"),
            *_SOURCED,
            _text("note"),
        ),
        ("jurisdiction", "material", "kind", "applies", "basis", "section", "low", "high"),
        folder=True,
    ),
)

BY_NAME = {table.name: table for table in TABLES}
