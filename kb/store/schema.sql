-- One file, strict tables, plain inserts. Asserted rows and computed rows never share a table.
CREATE TABLE build (
  id INTEGER PRIMARY KEY CHECK (id = 1), schema INTEGER NOT NULL, version TEXT NOT NULL,
  seed_hash TEXT NOT NULL, content_hash TEXT NOT NULL
) STRICT;
CREATE TABLE source (
  source TEXT PRIMARY KEY, citation TEXT NOT NULL, kind TEXT NOT NULL, year TEXT, address TEXT
) STRICT;
CREATE TABLE property (
  property TEXT PRIMARY KEY, meaning TEXT NOT NULL, unit TEXT NOT NULL, low REAL, high REAL,
  combines TEXT NOT NULL, tolerance_kind TEXT NOT NULL, tolerance REAL
) STRICT;
CREATE TABLE method (
  method TEXT PRIMARY KEY, quantity TEXT NOT NULL, equation TEXT NOT NULL, citation TEXT NOT NULL,
  validity TEXT NOT NULL, error TEXT NOT NULL
) STRICT;
CREATE TABLE role (
  role TEXT PRIMARY KEY, label TEXT NOT NULL, definition TEXT NOT NULL, loss_rule TEXT NOT NULL,
  kin TEXT NOT NULL
) STRICT;
CREATE TABLE role_parent (
  role TEXT NOT NULL REFERENCES role, parent TEXT NOT NULL REFERENCES role,
  PRIMARY KEY (role, parent)
) STRICT;
CREATE TABLE role_trait (
  role TEXT NOT NULL REFERENCES role, property TEXT NOT NULL REFERENCES property,
  kind TEXT NOT NULL, tolerance REAL NOT NULL, weight REAL NOT NULL, decisive TEXT NOT NULL,
  why TEXT NOT NULL, PRIMARY KEY (role, property)
) STRICT;
CREATE TABLE material (
  material TEXT PRIMARY KEY, inci TEXT NOT NULL, grade TEXT, cas TEXT, origin TEXT NOT NULL,
  form TEXT NOT NULL, charge TEXT NOT NULL, phase TEXT NOT NULL, tags TEXT, note TEXT
) STRICT;
CREATE TABLE name (
  name TEXT NOT NULL, material TEXT NOT NULL REFERENCES material, language TEXT NOT NULL,
  kind TEXT NOT NULL, PRIMARY KEY (name, material)
) STRICT;
CREATE TABLE composition (
  material TEXT NOT NULL REFERENCES material, part TEXT NOT NULL, low REAL,
  high REAL, purpose TEXT NOT NULL, source TEXT REFERENCES source, evidence TEXT NOT NULL,
  PRIMARY KEY (material, part)
) STRICT;
CREATE TABLE play (
  material TEXT NOT NULL REFERENCES material, role TEXT NOT NULL REFERENCES role, low REAL,
  high REAL, strength REAL, source TEXT REFERENCES source, evidence TEXT NOT NULL, note TEXT,
  PRIMARY KEY (material, role)
) STRICT;
CREATE TABLE fact (
  id INTEGER PRIMARY KEY, material TEXT NOT NULL REFERENCES material,
  property TEXT NOT NULL REFERENCES property, value REAL, low REAL, high REAL,
  unit TEXT NOT NULL, temperature_c REAL, conditions TEXT NOT NULL,
  source TEXT REFERENCES source, place TEXT, evidence TEXT NOT NULL, note TEXT
) STRICT;
CREATE INDEX fact_of ON fact (material, property);
CREATE TABLE crystal (
  material TEXT NOT NULL REFERENCES material, component TEXT NOT NULL, share REAL NOT NULL,
  molar_mass REAL NOT NULL, melting_point REAL NOT NULL, fusion_enthalpy REAL NOT NULL,
  association TEXT NOT NULL, activity REAL NOT NULL, source TEXT REFERENCES source,
  evidence TEXT NOT NULL, note TEXT, PRIMARY KEY (material, component)
) STRICT;
CREATE TABLE structure (
  material TEXT PRIMARY KEY REFERENCES material, smiles TEXT NOT NULL,
  source TEXT REFERENCES source, evidence TEXT NOT NULL
) STRICT;
CREATE TABLE fatty_acid (
  material TEXT NOT NULL REFERENCES material, acid TEXT NOT NULL, low REAL NOT NULL,
  high REAL NOT NULL, source TEXT REFERENCES source, evidence TEXT NOT NULL,
  PRIMARY KEY (material, acid)
) STRICT;
CREATE TABLE edge (
  id INTEGER PRIMARY KEY, subject TEXT NOT NULL, object TEXT NOT NULL, verdict TEXT NOT NULL,
  rule TEXT NOT NULL, system TEXT, subject_min REAL, object_min REAL, ph_low REAL, ph_high REAL,
  mechanism TEXT NOT NULL, source TEXT REFERENCES source, evidence TEXT NOT NULL
) STRICT;
CREATE INDEX edge_subject ON edge (subject);
CREATE INDEX edge_object ON edge (object);
CREATE TABLE limit_rule (
  id INTEGER PRIMARY KEY, material TEXT NOT NULL REFERENCES material, jurisdiction TEXT NOT NULL,
  kind TEXT NOT NULL, low REAL, high REAL, unit TEXT, applies TEXT NOT NULL, basis TEXT,
  section TEXT NOT NULL, date_read TEXT, source TEXT REFERENCES source, evidence TEXT NOT NULL,
  note TEXT
) STRICT;
CREATE TABLE policy (policy TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;
CREATE TABLE formula (formula TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT;
-- Computed at build.
CREATE TABLE role_closure (
  role TEXT NOT NULL REFERENCES role, ancestor TEXT NOT NULL REFERENCES role,
  PRIMARY KEY (role, ancestor)
) STRICT;
CREATE TABLE best_fact (
  material TEXT NOT NULL REFERENCES material, property TEXT NOT NULL REFERENCES property,
  value REAL NOT NULL, low REAL NOT NULL, high REAL NOT NULL, evidence TEXT NOT NULL,
  source TEXT, fact INTEGER REFERENCES fact, inherited TEXT, PRIMARY KEY (material, property)
) STRICT;
CREATE TABLE snapshot (part TEXT PRIMARY KEY, data BLOB NOT NULL) STRICT;
CREATE VIRTUAL TABLE name_fts USING fts5 (name, material UNINDEXED);
