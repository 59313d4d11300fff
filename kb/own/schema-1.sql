-- What the user entered, kept as it was written; the lint has looked at each cell before.
CREATE TABLE source (
  source TEXT PRIMARY KEY, citation TEXT NOT NULL, kind TEXT NOT NULL,
  year TEXT NOT NULL, address TEXT NOT NULL
) STRICT;
CREATE TABLE material (
  material TEXT PRIMARY KEY, inci TEXT NOT NULL, grade TEXT NOT NULL, cas TEXT NOT NULL,
  origin TEXT NOT NULL, form TEXT NOT NULL, charge TEXT NOT NULL, phase TEXT NOT NULL,
  tags TEXT NOT NULL, note TEXT NOT NULL
) STRICT;
CREATE TABLE name (
  name TEXT NOT NULL, material TEXT NOT NULL, language TEXT NOT NULL, kind TEXT NOT NULL,
  PRIMARY KEY (name, material)
) STRICT;
CREATE TABLE composition (
  material TEXT NOT NULL, part TEXT NOT NULL, low TEXT NOT NULL, high TEXT NOT NULL,
  purpose TEXT NOT NULL, source TEXT NOT NULL, evidence TEXT NOT NULL,
  PRIMARY KEY (material, part)
) STRICT;
CREATE TABLE play (
  material TEXT NOT NULL, role TEXT NOT NULL, low TEXT NOT NULL, high TEXT NOT NULL,
  strength TEXT NOT NULL, source TEXT NOT NULL, evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (material, role)
) STRICT;
CREATE TABLE fact (
  material TEXT NOT NULL, property TEXT NOT NULL, value TEXT NOT NULL, low TEXT NOT NULL,
  high TEXT NOT NULL, unit TEXT NOT NULL, temperature_c TEXT NOT NULL,
  conditions TEXT NOT NULL, source TEXT NOT NULL, place TEXT NOT NULL,
  evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (material, property, temperature_c, conditions)
) STRICT;
CREATE TABLE edge (
  subject TEXT NOT NULL, object TEXT NOT NULL, verdict TEXT NOT NULL, rule TEXT NOT NULL,
  system TEXT NOT NULL, subject_min TEXT NOT NULL, object_min TEXT NOT NULL,
  ph_low TEXT NOT NULL, ph_high TEXT NOT NULL, mechanism TEXT NOT NULL,
  source TEXT NOT NULL, evidence TEXT NOT NULL,
  PRIMARY KEY (subject, object, system, mechanism)
) STRICT;
CREATE TABLE limit_rule (
  material TEXT NOT NULL, jurisdiction TEXT NOT NULL, kind TEXT NOT NULL, low TEXT NOT NULL,
  high TEXT NOT NULL, unit TEXT NOT NULL, applies TEXT NOT NULL, basis TEXT NOT NULL,
  section TEXT NOT NULL, date_read TEXT NOT NULL, source TEXT NOT NULL,
  evidence TEXT NOT NULL, note TEXT NOT NULL,
  PRIMARY KEY (jurisdiction, material, kind, applies, basis, section, low, high)
) STRICT;
CREATE TABLE shelf (
  name TEXT NOT NULL, lot TEXT NOT NULL, stock_g REAL, price REAL, pack_g REAL,
  currency TEXT NOT NULL, supplier TEXT NOT NULL, expiry TEXT NOT NULL,
  PRIMARY KEY (name, lot)
) STRICT;
CREATE TABLE measurement (
  id TEXT PRIMARY KEY, formula TEXT NOT NULL, name TEXT NOT NULL, date TEXT NOT NULL,
  quantity TEXT NOT NULL, value REAL NOT NULL, instrument TEXT NOT NULL,
  spindle TEXT NOT NULL, speed TEXT NOT NULL, age_h REAL, temperature_c REAL,
  note TEXT NOT NULL
) STRICT;
-- What each change replaced, newest last; undo takes the last one back.
CREATE TABLE change (
  id INTEGER PRIMARY KEY, made_at TEXT NOT NULL, what TEXT NOT NULL, before TEXT NOT NULL
) STRICT;
-- A hash over all that stands above, so that a flipped value does not go unseen.
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
