"""A seed of seven materials that uses every table, for tests that must be quick."""

from pathlib import Path

TINY = {
    "sources.csv": """\
source,citation,kind,year,address
griffin-1949,"Griffin, J. Soc. Cosmet. Chem. 1, 311",journal,1949,
handbook,Handbook of excipients,book,2009,
""",
    "properties.csv": """\
property,meaning,unit,low,high,combines,tolerance_kind,tolerance
density,density,g/ml,0.5,8,mass mean,ratio,0.02
hlb,hydrophile-lipophile balance,1,0,40,mass mean,difference,1
melting_point,melting point,degC,-80,400,not mixed,difference,3
viscosity,dynamic viscosity,mPa.s,0.1,1000000,viscosity index,ratio,0.3
viscosity_slope,slope of the double-logarithm law,1,0.5,8,mass mean,ratio,0.1
""",
    "methods.csv": """\
method,quantity,equation,citation,validity,error
blend-hlb,hlb,mass mean,Griffin 1949,nonionic emulsifiers,1
""",
    "roles.csv": """\
role,parent,label,definition,loss_rule,kin
fixed-oil,oil-part,fixed oil,Triglyceride oil,oxidation,yes
ingredient,,what a maker weighs,Any raw material,function-lost,no
oil-part,ingredient,oil-phase part,Goes into the oil phase,function-lost,no
powder,ingredient,powder,Solid particles,function-lost,yes
polyol,water-part,polyol,Glycerin and the like,function-lost,yes
stabilising-wax,oil-part,stabilising wax,Body and film,no-structure,yes
stabilising-wax,surface-active,stabilising wax,Body and film,no-structure,yes
surface-active,ingredient,surface-active part,Works at the interface,wrong-emulsion-type,no
water-part,ingredient,water-phase part,Goes into the water phase,function-lost,no
""",
    "role_traits.csv": """\
role,property,kind,tolerance,weight,decisive,why
fixed-oil,viscosity,ratio,0.3,0.6,yes,slip
stabilising-wax,melting_point,difference,3,0.5,yes,heat
""",
    "materials/all.csv": """\
material,inci,grade,cas,origin,form,charge,phase,tags,note
aqua,Aqua,,7732-18-5,mineral,liquid,none,water,,
cera-alba,Cera Alba,,8012-89-3,animal,waxy,none,oil,animal,
glycerin,Glycerin,,56-81-5,mixed,liquid,none,water,water-soluble palm-possible,
prunus-oil,Prunus Amygdalus Dulcis Oil,,8007-69-0,plant,liquid,none,oil,oxidisable,
ricinus-oil,Ricinus Communis Seed Oil,,8001-79-4,plant,liquid,none,oil,,
zinc-oxide,Zinc Oxide,,1314-13-2,mineral,powder,none,powder,insoluble,
zinc-oxide--coated,Zinc Oxide,coated,1314-13-2,mineral,powder,none,powder,insoluble coated,
""",
    "names.csv": """\
name,material,language,kind
beeswax,cera-alba,en,common
castor oil,ricinus-oil,en,common
glycerine,glycerin,en,common
sweet almond oil,prunus-oil,en,common
Süßmandelöl,prunus-oil,de,common
water,aqua,en,common
""",
    "compositions.csv": """\
material,part,low,high,purpose,source,evidence
zinc-oxide--coated,zinc-oxide,95,98,main,handbook,memory
zinc-oxide--coated,coating,2,5,coating,handbook,memory
""",
    "plays/all.csv": """\
material,role,low,high,strength,source,evidence,note
aqua,water-part,,,1,,common practice,
cera-alba,stabilising-wax,1,10,0.8,handbook,memory,
glycerin,polyol,2,10,1,handbook,memory,
prunus-oil,fixed-oil,2,60,1,,common practice,
ricinus-oil,fixed-oil,2,60,0.7,,common practice,
zinc-oxide,powder,1,40,1,,common practice,
""",
    "facts/density.csv": """\
material,property,value,low,high,unit,temperature_c,conditions,source,place,evidence,note
aqua,density,0.997,,,g/ml,25,pure,handbook,,memory,
prunus-oil,density,0.915,0.91,0.92,g/ml,20,usual,,,common practice,
zinc-oxide,density,5.6,,,g/ml,25,crystal,handbook,,memory,
zinc-oxide--coated,density,5.4,5.2,5.5,g/ml,25,crystal,handbook,,memory,
""",
    "facts/hlb.csv": """\
material,property,value,low,high,unit,temperature_c,conditions,source,place,evidence,note
cera-alba,hlb,4,2,6,1,,nominal,griffin-1949,,memory,
cera-alba,hlb,9,8,10,1,,nominal,,,common practice,
""",
    "facts/melting_point.csv": """\
material,property,value,low,high,unit,temperature_c,conditions,source,place,evidence,note
cera-alba,melting_point,,62,65,degC,,drop point,handbook,,published,
cera-alba,melting_point,70,,,degC,,capillary,,,common practice,
""",
    "facts/viscosity.csv": """\
material,property,value,low,high,unit,temperature_c,conditions,source,place,evidence,note
glycerin,viscosity,934,,,mPa.s,25,dry,handbook,,memory,
prunus-oil,viscosity,33,,,mPa.s,40,bulk,handbook,,memory,
prunus-oil,viscosity,80,,,mPa.s,20,bulk,handbook,,memory,
ricinus-oil,viscosity,230,,,mPa.s,40,bulk,handbook,,memory,
""",
    "crystals.csv": """\
material,component,share,molar_mass,melting_point,fusion_enthalpy,association,activity,source,evidence,note
cera-alba,wax ester,0.7,680,63,190,plain,1,handbook,derived,
""",
    "structures.csv": """\
material,smiles,source,evidence
aqua,O,handbook,derived
glycerin,OCC(O)CO,handbook,derived
""",
    "fatty_acids.csv": """\
material,acid,low,high,source,evidence
prunus-oil,16:0,4,9,handbook,memory
prunus-oil,18:1,62,86,handbook,memory
prunus-oil,18:2,20,30,handbook,memory
""",
    "edges.csv": """\
subject,object,verdict,rule,system,subject_min,object_min,ph_low,ph_high,mechanism,source,evidence
material:zinc-oxide,tag:acid,careful,ph-window,w/o,,,,,It neutralises the acid.,,common practice
role:polyol,system:powder,fails,brings-water,,,,,,It wets the powder.,,common practice
""",
    "limits/eu.csv": """\
material,jurisdiction,kind,low,high,unit,applies,basis,section,date_read,source,evidence,note
zinc-oxide,eu,max,,25,%,uv-filter,,Annex VI,,handbook,memory,
""",
    "policies/vegan.toml": """\
name = "vegan"
title = "Nothing from animals"
meaning = "No material made by or from animals."
source = ""
evidence = "common practice"

[forbid]
origins = ["animal"]
""",
    "formulas/demo.toml": """\
name = "Demo"
[[line]]
ingredient = "Water"
percent = "q.s."
[[line]]
ingredient = "Beeswax"
percent = 3
""",
}


def write_tiny(folder: Path) -> Path:
    """Write the tiny seed into a folder and return it."""
    for name, text in TINY.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    return folder
