"""Lists to fill in, as CSV or as a workbook."""

from __future__ import annotations

import csv


def template(kind: str) -> str:
    """Return the header of a list with one commented example below."""
    return _TEMPLATES[kind]


_TEMPLATES = {
    "materials": """\
name,inci,cas,origin,form,charge,phase,tags,roles,composition,other_names,source,note,\
melting_point,viscosity@25,density@25
# a grade of a material we know: what is left blank follows the plain one
#Beeswax from the valley,Cera Alba,,,,,,,,,,data sheet 2025,filtered,62-65,,0.96
# a material of its own: form, charge, phase and a role are needed; see `kb roles`
#Meadow butter,Meadow Seed Butter,,plant,semisolid,none,oil,,oil-phase-structurant 2-10,,,\
data sheet 2025,,34-38,,
""",
    "facts": """\
material,property,value,low,high,unit,temperature_c,conditions,source,note
# your own value for one of our materials wins for you
#Jojoba oil,viscosity,35,,,mPa.s,25,as stated,data sheet 2025,
""",
    "edges": """\
subject,object,verdict,rule,system,subject_min,object_min,ph_low,ph_high,mechanism,source
# verdict: works, careful or fails; a side may also be role:, tag:, charge: or system:
#xanthan gum,system:w/o,careful,own-rule,w/o,0.3,,,,lumps on cold nights,batch book 2024
""",
    "limits": """\
material,jurisdiction,kind,low,high,unit,applies,basis,section,date_read,source,note
# a limit of your own, such as a customer's
#lanolin,eu,max,,5,%,leave-on,,customer,2025-03-01,customer list 2025,
""",
    "shelf": """\
name,stock,price,pack,currency,supplier,lot,expiry
#Beeswax,2.5 kg,18.50,1 kg,EUR,the beekeeper,24-117,2027-03-31
""",
}


def template_book(kind: str) -> bytes:
    """Return a list to fill in as a workbook; examples and remarks begin with ``#``."""
    from kb.formula.workbook_out import Page, to_workbook

    rows: list[list[str]] = []
    for line in _TEMPLATES[kind].splitlines():
        rows += [[line]] if line.startswith("# ") else list(csv.reader([line]))
    return to_workbook([Page(kind, rows, frozenset({0}))])
