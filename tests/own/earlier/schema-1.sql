PRAGMA application_id = 1281970039;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE change (
  id INTEGER PRIMARY KEY, made_at TEXT NOT NULL, what TEXT NOT NULL, before TEXT NOT NULL
) STRICT;
INSERT INTO "change" VALUES(1,'2026-11-25T03:22:17+00:00','added materials.csv','[["source", {"source": "own-sheet-2025"}, null], ["material", {"material": "own-meadow-butter"}, null], ["name", {"name": "Meadow butter", "material": "own-meadow-butter"}, null], ["play", {"material": "own-meadow-butter", "role": "butter"}, null], ["fact", {"material": "own-meadow-butter", "property": "melting_point", "temperature_c": "", "conditions": "as stated"}, null]]');
INSERT INTO "change" VALUES(2,'2026-11-25T03:22:17+00:00','shelf from stock.csv','[["shelf", {"name": "Shea butter", "lot": "24-117"}, null]]');
INSERT INTO "change" VALUES(3,'2026-11-25T03:22:17+00:00','measured consistency of a cream','[["measurement", {"id": "a1"}, null]]');
CREATE TABLE composition (
  material TEXT NOT NULL, part TEXT NOT NULL, low TEXT NOT NULL, high TEXT NOT NULL,
  purpose TEXT NOT NULL, source TEXT NOT NULL, evidence TEXT NOT NULL,
  PRIMARY KEY (material, part)
) STRICT;
CREATE TABLE edge (
  subject TEXT NOT NULL, object TEXT NOT NULL, verdict TEXT NOT NULL, rule TEXT NOT NULL,
  system TEXT NOT NULL, subject_min TEXT NOT NULL, object_min TEXT NOT NULL,
  ph_low TEXT NOT NULL, ph_high TEXT NOT NULL, mechanism TEXT NOT NULL,
  source TEXT NOT NULL, evidence TEXT NOT NULL,
  PRIMARY KEY (subject, object, system, mechanism)
) STRICT;
CREATE TABLE fact (
  material TEXT NOT NULL, property TEXT NOT NULL, value TEXT NOT NULL, low TEXT NOT NULL,
  high TEXT NOT NULL, unit TEXT NOT NULL, temperature_c TEXT NOT NULL,
  conditions TEXT NOT NULL, source TEXT NOT NULL, place TEXT NOT NULL,
  evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (material, property, temperature_c, conditions)
) STRICT;
INSERT INTO "fact" VALUES('own-meadow-butter','melting_point','','34','38','degC','','as stated','own-sheet-2025','materials list','published','');
CREATE TABLE limit_rule (
  material TEXT NOT NULL, jurisdiction TEXT NOT NULL, kind TEXT NOT NULL, low TEXT NOT NULL,
  high TEXT NOT NULL, unit TEXT NOT NULL, applies TEXT NOT NULL, basis TEXT NOT NULL,
  section TEXT NOT NULL, date_read TEXT NOT NULL, source TEXT NOT NULL,
  evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (jurisdiction, material, kind, applies, basis, section, low, high)
) STRICT;
CREATE TABLE material (
  material TEXT PRIMARY KEY, inci TEXT NOT NULL, grade TEXT NOT NULL, cas TEXT NOT NULL,
  origin TEXT NOT NULL, form TEXT NOT NULL, charge TEXT NOT NULL, phase TEXT NOT NULL,
  tags TEXT NOT NULL, note TEXT NOT NULL
) STRICT;
INSERT INTO "material" VALUES('own-meadow-butter','Meadow Seed Butter','','','plant','semisolid','none','oil','','');
CREATE TABLE measurement (
  id TEXT PRIMARY KEY, formula TEXT NOT NULL, name TEXT NOT NULL, date TEXT NOT NULL,
  quantity TEXT NOT NULL, value REAL NOT NULL, instrument TEXT NOT NULL,
  spindle TEXT NOT NULL, speed TEXT NOT NULL, age_h REAL, temperature_c REAL,
  note TEXT NOT NULL
) STRICT;
INSERT INTO "measurement" VALUES('a1','ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff','Winter hand cream','2026-01-31','consistency',42000.0,'','4','10 rpm',24.0,25.0,'');
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
INSERT INTO "meta" VALUES('content','859578ab3306456d92df786e0fcc087c34c0e36d4f6959203fb1d611ef7beef9');
CREATE TABLE name (
  name TEXT NOT NULL, material TEXT NOT NULL, language TEXT NOT NULL, kind TEXT NOT NULL,
  PRIMARY KEY (name, material)
) STRICT;
INSERT INTO "name" VALUES('Meadow butter','own-meadow-butter','en','common');
CREATE TABLE play (
  material TEXT NOT NULL, role TEXT NOT NULL, low TEXT NOT NULL, high TEXT NOT NULL,
  strength TEXT NOT NULL, source TEXT NOT NULL, evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (material, role)
) STRICT;
INSERT INTO "play" VALUES('own-meadow-butter','butter','2','10','','own-sheet-2025','published','');
CREATE TABLE shelf (
  name TEXT NOT NULL, lot TEXT NOT NULL, stock_g REAL, price REAL, pack_g REAL,
  currency TEXT NOT NULL, supplier TEXT NOT NULL, expiry TEXT NOT NULL,
  PRIMARY KEY (name, lot)
) STRICT;
INSERT INTO "shelf" VALUES('Shea butter','24-117',400.0,18.5,1000.0,'EUR','the cooperative','2027-03-31');
CREATE TABLE source (
  source TEXT PRIMARY KEY, citation TEXT NOT NULL, kind TEXT NOT NULL,
  year TEXT NOT NULL, address TEXT NOT NULL
) STRICT;
INSERT INTO "source" VALUES('own-sheet-2025','sheet 2025','own','','');
COMMIT;
